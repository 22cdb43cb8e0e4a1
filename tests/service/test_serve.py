"""The one command, with real processes: up, whole, alone on its data, and gone without a trace."""

import io
import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from darkroom_service.management import greeting
from darkroom_service.management.commands import serve as command

ROOT = Path(__file__).resolve().parent.parent.parent
PATIENCE = 90  # seconds; a busy machine is slow, a quick one waits for none of it
pytestmark = pytest.mark.processes


def free_port():
    """Return a port below the range the system hands out by itself, so that nobody takes it meanwhile."""
    for port in range(20_000 + os.getpid() % 5000, 32_000):
        with socket.socket() as probe:
            try:
                probe.bind(("127.0.0.1", port))
            except OSError:
                continue
            return port
    raise AssertionError("no free port")


def serve(*options):
    keep = ("PATH", "HOME", "LANG", "TMPDIR")
    return subprocess.Popen(
        [sys.executable, "-m", "darkroom_service", "serve", *options],
        cwd=ROOT,
        env={name: os.environ[name] for name in keep if name in os.environ},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )


def fetch(address):
    try:
        with urllib.request.urlopen(address, timeout=5) as response:
            return response.status, json.load(response)
    except urllib.error.HTTPError as found:
        return found.code, json.load(found)
    except OSError:
        return 0, {}


def wait_for(condition):
    until = time.monotonic() + PATIENCE
    while time.monotonic() < until:
        if found := condition():
            return found
        time.sleep(0.1)
    raise AssertionError("waited in vain")


def children(pid):
    """Return the ids of all processes below ``pid``."""
    listing = subprocess.run(["ps", "-e", "-o", "pid=,ppid="], capture_output=True, text=True, check=True).stdout
    pairs = [tuple(map(int, line.split())) for line in listing.splitlines()]
    found = {pid}
    for _ in pairs:
        found |= {child for child, parent in pairs if parent in found}
    return found - {pid}


def alive(pids):
    return [
        pid for pid in pids if Path(f"/proc/{pid}").exists() and "zombie" not in Path(f"/proc/{pid}/status").read_text()
    ]


@pytest.fixture
def service(tmp_path):
    """Run the service on a new data folder; yields its process, port and folder."""
    port, data = free_port(), tmp_path / "data"
    process = serve("--empty", "--port", str(port), "--data", str(data))
    try:
        yield process, port, data
    finally:
        if process.poll() is None:
            process.send_signal(signal.SIGTERM)
            process.wait(PATIENCE)
        process.stdout.close()


def test_it_starts_whole_stays_alone_and_stops_without_a_trace(service):
    process, port, data = service
    wait_for(lambda: process.poll() is not None or fetch(f"http://127.0.0.1:{port}/readyz")[0] == 200)
    assert process.poll() is None, process.stdout.read()
    assert fetch(f"http://127.0.0.1:{port}/healthz") == (200, {"status": "up"})

    below = children(process.pid)
    assert len(below) >= 3
    assert len({os.getpgid(pid) for pid in below}) == 2, "web and worker have a process group each"
    assert os.getpgid(process.pid) not in {os.getpgid(pid) for pid in below}

    twin = serve("--empty", "--port", str(free_port()), "--data", str(data))
    assert "already runs on" in twin.communicate(timeout=PATIENCE)[0]
    assert twin.returncode != 0
    rival = serve("--empty", "--port", str(port), "--data", str(data.parent / "other"))
    assert "Give another --port" in rival.communicate(timeout=PATIENCE)[0]
    assert rival.returncode != 0

    process.send_signal(signal.SIGTERM)
    said, _ = process.communicate(timeout=PATIENCE)
    assert process.returncode == 0, said
    assert f"Darkroom Service is up: http://127.0.0.1:{port}" in said
    assert said.rstrip().endswith("Stopped.")
    assert "Traceback" not in said
    assert not alive(below)


def test_a_second_start_keeps_the_data_and_a_killed_parent_leaves_no_orphan(service):
    process, port, data = service
    secret = wait_for(lambda: (data / "secret-key").exists() and (data / "secret-key").read_text())
    process.terminate()  # not an interrupt: where tests run in the background, a child starts with those ignored
    process.communicate(timeout=PATIENCE)
    again = serve("--empty", "--port", str(port), "--data", str(data))
    wait_for(lambda: fetch(f"http://127.0.0.1:{port}/healthz")[0] == 200)
    assert (data / "secret-key").read_text() == secret
    below = wait_for(lambda: len(found := children(again.pid)) >= 3 and found)
    again.kill()
    again.communicate(timeout=PATIENCE)
    wait_for(lambda: not alive(below))


def sleeper(code="import time; time.sleep(60)"):
    return subprocess.Popen([sys.executable, "-c", code], start_new_session=True, stdout=subprocess.PIPE, text=True)


def watch(children, stop, start_again=None):
    return command.Command(stderr=io.StringIO())._watch(children, stop, start_again)


def test_a_web_part_that_dies_is_named_and_ends_the_watch():
    children = {"web": sleeper(""), "worker": sleeper()}
    assert watch(children, threading.Event()) == "web"
    command._stop(children)
    for child in children.values():
        assert child.poll() is not None
        child.stdout.close()


def test_a_worker_that_dies_is_started_again_while_web_goes_on(monkeypatch):
    monkeypatch.setattr(command, "LONGEST_PAUSE", 0.1)
    stop, first, second, web = threading.Event(), sleeper(""), sleeper(), sleeper()
    children = {"web": web, "worker": first}

    def start_again(name):
        stop.set()
        return {"worker": second}[name]

    assert watch(children, stop, start_again) is None
    assert children == {"web": web, "worker": second}
    assert web.poll() is None
    command._stop(children)
    for child in (web, first, second):
        child.stdout.close()


def test_the_word_to_stop_is_heard_before_anything_dies():
    stop = threading.Event()
    stop.set()
    assert watch({}, stop) is None


def test_a_part_that_will_not_stop_is_ended_by_force(monkeypatch):
    monkeypatch.setattr(command, "GRACE_SECONDS", 0.3)
    deaf = "import signal, time; signal.signal(signal.SIGTERM, signal.SIG_IGN); print(flush=True); time.sleep(60)"
    child = sleeper(deaf)
    child.stdout.readline()
    command._stop({"web": child})
    child.stdout.close()
    assert child.returncode == -signal.SIGKILL


@pytest.mark.django_db
def test_a_folder_in_real_use_gets_no_demo(di, settings, tmp_path):
    settings.DATA = tmp_path
    assert command.Command()._demo() == ""
    assert not list(tmp_path.iterdir())


def test_listening_to_everybody_needs_a_name(tmp_path):
    answer = serve("--host", "0.0.0.0", "--data", str(tmp_path)).communicate(timeout=PATIENCE)[0]
    assert "DARKROOM_HOSTS" in answer


def test_the_greeting_shows_logins_and_a_first_check_in(tmp_path):
    demo = {"darkroom": "school", "check_in": {"line": "x", "films": []}}
    (tmp_path / "demo.json").write_text(json.dumps(demo))
    words = greeting.text("http://127.0.0.1:8000", tmp_path, "secret words")
    assert "member, technician, instructor, admin" in words
    assert "secret words" in words
    assert "http://127.0.0.1:8000/api/v1/darkrooms/school/check-ins" in words
    assert "Idempotency-Key" in words
    assert json.dumps(demo["check_in"]) in words


@pytest.mark.parametrize("demo", [None, "{}", '{"darkroom": "school"}'])
def test_the_greeting_does_without_what_the_demo_did_not_say(tmp_path, demo):
    if demo is not None:
        (tmp_path / "demo.json").write_text(demo)
    assert "curl" not in greeting.text("http://127.0.0.1:8000", tmp_path, "secret words")


def test_an_empty_start_greets_with_the_address_alone(tmp_path):
    assert "password" not in greeting.text("http://127.0.0.1:8000", tmp_path, "")
