# Read by the other scripts: `make_environment LOCK` makes $root/.venv hold what deploy/LOCK.lock names.

fail() {
    echo "$*" >&2
    exit 1
}

find_python() {
    for name in python3.11 python3.12 python3.13 python3.14 python3 python; do
        if "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
            echo "$name"
            return
        fi
    done
    fail "Python 3.11 or newer is needed and was not found."
}

make_environment() {
    stamp="$root/.venv/$1.stamp"
    sum=$(cksum <"$root/deploy/$1.lock")
    if [ -f "$stamp" ] && [ "$(cat "$stamp")" = "$sum" ] && "$root/.venv/bin/python" -c '' 2>/dev/null; then
        return
    fi
    if ! "$root/.venv/bin/python" -m pip --version >/dev/null 2>&1; then
        python=$(find_python)
        echo "Making the environment in .venv with $python ..." >&2
        "$python" -m venv --clear "$root/.venv" ||
            fail "Python could not make an environment; on Debian and Ubuntu: apt-get install python3-venv"
    fi
    echo "Installing what deploy/$1.lock names ..." >&2
    "$root/.venv/bin/python" -m pip install --quiet --disable-pip-version-check \
        --require-hashes --only-binary :all: --requirement "$root/deploy/$1.lock" ||
        fail "The installation failed; the lines above say why. Run this again when it is mended."
    echo "$sum" >"$stamp"
}
