"""How fast the waste log leaves by HTTP, beside the database's own export, and how much memory that takes.

It makes a database of its own, fills it in bulk (no command would write a million rows in a minute), starts a web
server on it, exports, and drops everything again.
"""

import os
import subprocess
import sys
import tempfile
import time
import urllib.request
from argparse import ArgumentParser
from pathlib import Path
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connection, connections

BULK = 5000
CHUNK = 1024 * 1024
START_SECONDS = 60


class Command(BaseCommand):
    """``bench_waste_log --rows N``: rows/s of each format beside COPY, and the growth of the server's peak memory."""

    help = "Export a waste log of N rows over HTTP from a throwaway database, and say how fast and with what memory."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--rows", type=int, default=10_000, help="how many fills (default: 10000)")
        parser.add_argument("--port", type=int, default=8160, help="the port of the server (default: 8160)")
        parser.add_argument("--formats", default="csv,json", help="which of csv, json, xlsx (default: csv,json)")

    def handle(self, *args: Any, rows: int, port: int, formats: str, **options: Any) -> None:
        with tempfile.TemporaryDirectory(prefix="darkroom-bench-") as folder:
            name, address = _throwaway(folder)
            try:
                call_command("migrate", verbosity=0)
                secret = _filled(rows)
                self.stdout.write(f"{rows} fills in {connection.vendor}, bytes and seconds of each export:")
                self._copy(rows)
                self._served(rows, port, formats.split(","), secret, address)
            finally:
                _dropped(name)

    def _served(self, rows: int, port: int, formats: list[str], secret: str, address: str) -> None:
        server = _server(port, address)
        try:
            url = f"http://127.0.0.1:{port}/api/v1/darkrooms/bench/waste-log?format="
            _fetch(f"{url}json&to=1990-01-01", secret)
            for form in formats:
                before = _peak(server.pid)
                size, seconds = _fetch(url + form, secret)
                grown = (_peak(server.pid) - before) / 1024
                said = f"{rows / seconds:9.0f} rows/s {size:12d} B {seconds:7.2f} s, peak memory +{grown:.1f} MiB"
                self.stdout.write(f"  HTTP {form:5} {said} (to {_peak(server.pid) / 1024:.0f} MiB)")
        finally:
            server.terminate()
            server.wait(20)

    def _copy(self, rows: int) -> None:
        """Let PostgreSQL export the same columns as they lie, for comparison; SQLite has no such command."""
        if connection.vendor != "postgresql":
            return
        query = (
            "COPY (SELECT f.occurred_at, e.recorded_at, e.seq, f.public_id, s.code, f.listed, c.code, f.volume, "
            "f.origin, f.flags, e.by_id FROM waste_fill f JOIN accounts_entry e ON e.id = f.entry_id "
            "JOIN waste_container c ON c.id = f.container_id JOIN waste_stream s ON s.id = c.stream_id "
            "ORDER BY f.occurred_at, f.entry_id, f.public_id) TO STDOUT WITH CSV HEADER"
        )
        begun, size = time.monotonic(), 0
        with connection.cursor() as cursor, cursor.connection.cursor().copy(query) as copy:
            for data in copy:
                size += len(data)
        seconds = time.monotonic() - begun
        self.stdout.write(f"  COPY csv   {rows / seconds:9.0f} rows/s {size:12d} B {seconds:7.2f} s")


def _throwaway(folder: str) -> tuple[str, str]:
    """Point the program at an empty database of its own; returns its name and its URL."""
    chosen = connections["default"].settings_dict
    if connection.vendor == "sqlite":
        chosen["NAME"] = Path(folder) / "bench.sqlite3"
        connection.close()
        return "", f"sqlite:///{chosen['NAME']}"
    name = f"bench_{uuid4().hex[:12]}"
    with connection._nodb_cursor() as cursor:
        cursor.execute(f'CREATE DATABASE "{name}"')
    connection.close()
    chosen["NAME"] = name
    base = settings.DATABASE_URL.rpartition("/")[0]
    return name, f"{base}/{name}"


def _dropped(name: str) -> None:
    connection.close()
    if name:
        with connection._nodb_cursor() as cursor:
            cursor.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


def _filled(rows: int) -> str:
    """Make a darkroom with one container and so many fills and entries in bulk; returns a token of its technician."""
    from darkroom_service.management import bulk  # noqa: PLC0415  models load after the database is chosen

    return bulk.darkroom(rows, BULK)


def _server(port: int, address: str) -> "subprocess.Popen[bytes]":
    command = [sys.executable, "-m", "gunicorn", "darkroom_service.wsgi:application", "--bind", f"127.0.0.1:{port}"]
    command += ["--worker-class", "gthread", "--threads", "2", "--timeout", "900", "--log-level", "warning"]
    command += ["--no-control-socket"]
    told = {**os.environ, "DATABASE_URL": address, "DARKROOM_LOG_LEVEL": "WARNING"}
    server = subprocess.Popen(command, env=told)  # noqa: S603 - our own command line
    until = time.monotonic() + START_SECONDS
    while time.monotonic() < until and server.poll() is None:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/healthz", timeout=2):
                return server
        except OSError:
            time.sleep(0.2)
    server.kill()
    raise CommandError(f"the server did not start on port {port}; give another --port")


def _fetch(url: str, secret: str) -> tuple[int, float]:
    """Read an export to its end; returns its bytes and seconds."""
    asked = urllib.request.Request(url, headers={"Authorization": f"Token {secret}"})  # noqa: S310 - our own server
    begun, size = time.monotonic(), 0
    with urllib.request.urlopen(asked, timeout=900) as answer:  # noqa: S310
        while data := answer.read(CHUNK):
            size += len(data)
    return size, time.monotonic() - begun


def _peak(pid: int) -> int:
    """Return the sum of the peak memory of the server and its workers in KiB (Linux)."""
    workers = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
    status = [Path(f"/proc/{each}/status").read_text() for each in [str(pid), *workers]]
    return sum(int(text.partition("VmHWM:")[2].split()[0]) for text in status)
