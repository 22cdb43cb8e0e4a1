"""The whole service in one command: one parent that starts web, worker and scheduler and stops them cleanly."""

import ctypes
import fcntl
import os
import signal
import socket
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from argparse import ArgumentParser
from collections.abc import Callable
from pathlib import Path
from typing import IO, Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from accounts.models import Darkroom
from darkroom_service import environment
from darkroom_service.demo.stage import SLUG
from darkroom_service.management import greeting

GRACE_SECONDS = 10
START_SECONDS = 60
EVERYWHERE = {"0.0.0.0", "::", ""}  # noqa: S104 - recognised here, never the default
LONGEST_PAUSE = 30
PR_SET_PDEATHSIG = 1
Child = subprocess.Popen[bytes]


class Command(BaseCommand):
    """Start everything; Ctrl-C stops everything."""

    help = "Migrate, load the demo once, and run web, worker and scheduler until Ctrl-C."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the address; ``--data`` is taken before any command runs."""
        parser.add_argument("--host", default="127.0.0.1", help="the address to listen on (default: this machine only)")
        parser.add_argument("--port", type=int, default=8000, help="the port to listen on (default: 8000)")
        parser.add_argument("--empty", action="store_true", help="start without the demo darkroom")

    def handle(self, *args: Any, **options: Any) -> None:
        """Prepare, start, greet, wait, stop."""
        host, port = options["host"], options["port"]
        child_environment = _environment(host, port)
        lock = _only_one(settings.DATA)
        _check_free(host, port)
        call_command("migrate", verbosity=0)
        password = "" if options["empty"] else self._demo()
        stop = threading.Event()
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            signal.signal(number, lambda *_: stop.set())
        commands = _commands(host, port, settings.DATA)
        children = {name: _start(command, child_environment) for name, command in commands.items()}
        try:
            address = f"http://{_bracketed('127.0.0.1' if host in EVERYWHERE else host)}:{port}"
            if _answers(f"{address}/healthz", children, stop):
                self.stdout.write(greeting.text(address, settings.DATA, password))
                self.stdout.flush()
            died = self._watch(children, stop, lambda name: _start(commands[name], child_environment))
        finally:
            _stop(children)
            lock.close()
        if died:
            raise CommandError(f"the {died} ended by itself; everything was stopped. Its last lines stand above.")
        self.stdout.write("Stopped.")

    def _watch(
        self, children: dict[str, Child], stop: threading.Event, start_again: Callable[[str], Child]
    ) -> str | None:
        """Wait for the word to stop, or for the web part to end by itself; return its name then.

        A worker that ends by itself is started again, since all its work lies in the database: web goes on meanwhile.
        """
        ends = 0
        while not stop.wait(0.3):
            died = _ended(children)
            if died and died != "worker":
                return died
            if died:
                ends += 1
                pause = min(2**ends, LONGEST_PAUSE)
                self.stderr.write(
                    f"The worker ended by itself; it starts again in {pause} s. Its last lines stand above."
                )
                if not stop.wait(pause):
                    children[died] = start_again(died)
        return None

    def _demo(self) -> str:
        """Load the demo unless it is there already, and return the password of its logins."""
        if not (settings.DATA / "demo.json").exists() and Darkroom.objects.exclude(slug=SLUG).exists():
            self.stderr.write("This data is in use already, so no demo darkroom is added to it.")
            return ""
        password = environment.demo_password(settings.DATA)
        wished = os.environ.get("DEMO_PASSWORD", password)
        if wished != password:
            self.stderr.write("DEMO_PASSWORD is passed over: the demo logins were made earlier with the one below.")
        os.environ["DEMO_PASSWORD"] = password
        call_command("demo")
        return password


def _commands(host: str, port: int, data: Path) -> dict[str, list[str]]:
    """Return the command line of each part."""
    web = ["gunicorn", "darkroom_service.wsgi:application", "--bind", f"{_bracketed(host)}:{port}"]
    web += ["--worker-class", "gthread", "--workers", "1", "--threads", "8", "--no-control-socket"]
    web += ["--graceful-timeout", str(GRACE_SECONDS - 2), "--log-level", "warning"]
    worker = ["celery", "--quiet", "--app", "darkroom_service.celery:app", "worker", "--beat", "--pool", "threads"]
    worker += ["--concurrency", "2", "--schedule", str(data / "beat-schedule"), "--loglevel", "WARNING"]
    worker += ["--without-gossip", "--without-mingle", "--without-heartbeat"]
    return {name: [sys.executable, "-m", *command] for name, command in (("web", web), ("worker", worker))}


def _environment(host: str, port: int) -> dict[str, str]:
    """Return what the parts inherit: this data folder, and the host it is asked for by."""
    named = os.environ.get("DARKROOM_HOSTS", "")
    if host in EVERYWHERE and not named:
        raise CommandError(f"--host {host or '::'} listens to everybody: name the host in DARKROOM_HOSTS first.")
    hosts = [*settings.ALLOWED_HOSTS, *([] if host in EVERYWHERE else [_bracketed(host)])]
    near = f"http://{_bracketed('127.0.0.1' if host in EVERYWHERE else host)}:{port}"
    origin = {} if named or settings.HTTPS else {"DARKROOM_ORIGIN": near}
    return {
        **origin,
        **os.environ,
        "DARKROOM_DATA": str(settings.DATA),
        "DARKROOM_HOSTS": ",".join(dict.fromkeys(hosts)),
    }


def _only_one(data: Path) -> IO[str]:
    """Hold the data folder: two schedulers on one would do everything twice."""
    lock = (data / "serve.lock").open("w")
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        lock.close()
        raise CommandError(f"the service already runs on {data}; stop it first, or give another --data.") from None
    return lock


def _check_free(host: str, port: int) -> None:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as fault:
            raise CommandError(f"cannot listen on {host}:{port}: {fault.strerror}. Give another --port.") from None


def _start(command: list[str], child_environment: dict[str, str]) -> Child:
    """Start one part in a session of its own, so that Ctrl-C reaches the parent only."""
    return subprocess.Popen(  # noqa: S603 - our own command line
        command,
        env=child_environment,
        start_new_session=True,
        stdin=subprocess.DEVNULL,
        preexec_fn=_with_parent(),  # noqa: PLW1509 - this parent has one thread
    )


def _with_parent() -> Callable[[], object] | None:
    """Let the kernel stop a part whose parent was killed outright; only Linux can."""
    if sys.platform != "linux":
        return None
    prctl = ctypes.CDLL(None).prctl
    return lambda: prctl(PR_SET_PDEATHSIG, signal.SIGTERM)


def _answers(address: str, children: dict[str, Child], stop: threading.Event) -> bool:
    """Wait until the web part answers; false when it is told to stop, or when a part dies before."""
    until = time.monotonic() + START_SECONDS
    while time.monotonic() < until and not stop.is_set() and not _ended(children):
        try:
            with urllib.request.urlopen(address, timeout=2):  # noqa: S310 - our own address
                return True
        except (urllib.error.URLError, OSError):
            stop.wait(0.1)
    return False


def _ended(children: dict[str, Child]) -> str | None:
    return next((name for name, child in children.items() if child.poll() is not None), None)


def _stop(children: dict[str, Child]) -> None:
    """Ask every part to finish, and end by force what has not after the grace time."""
    for child in children.values():
        if child.poll() is None:
            child.terminate()
    until = time.monotonic() + GRACE_SECONDS
    for child in children.values():
        try:
            child.wait(max(0.1, until - time.monotonic()))
        except subprocess.TimeoutExpired:
            os.killpg(child.pid, signal.SIGKILL)
            child.wait()


def _bracketed(host: str) -> str:
    return f"[{host}]" if ":" in host else host
