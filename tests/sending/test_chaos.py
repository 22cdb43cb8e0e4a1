"""Real workers, schedulers, a broker and a bad mail server, killed and emptied at will: nothing is lost.

``DARKROOM_CHAOS=long`` runs the whole storm; without it a short one. The figures are printed (``pytest -s``).
"""

import json
import os
import random
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from uuid import uuid4

import psycopg
import pytest
import redis
from django.conf import settings

ROOT = Path(__file__).resolve().parent.parent.parent
pytestmark = [pytest.mark.processes, pytest.mark.postgres]


@dataclass(frozen=True)
class Storm:
    """How much of everything; times in seconds."""

    notices: int
    spread: float
    workers: int
    worker_kills: int
    beat_kills: int
    flushes: int
    broker_away: float
    lease: int
    tick: int
    mail_timeout: int
    backoff: int
    patience: float


# The short one asks little, and waits long enough that a busy machine is not taken for a server that hangs.
SHORT = Storm(40, 4, 2, 3, 1, 1, 2, lease=15, tick=1, mail_timeout=4, backoff=1, patience=240)
LONG = Storm(500, 60, 6, 10, 3, 3, 60, lease=60, tick=10, mail_timeout=10, backoff=3, patience=900)
STORM = LONG if os.environ.get("DARKROOM_CHAOS") == "long" else SHORT


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class Scene:
    """The processes, all our own, and the database they share."""

    def __init__(self, folder):
        self.folder, self.chance, self.started = folder, random.Random(5), 0
        self.workers, self.beats, self.others = [], [], []
        self.broker_port, self.mail_port, self.taken = free_port(), free_port(), folder / "taken"
        database = settings.DATABASES["default"]
        self.server = {
            "host": database["HOST"] or None, "port": database["PORT"] or None,
            "user": database["USER"] or None, "password": database["PASSWORD"] or None,
        }  # fmt: skip
        self.name = f"storm_{uuid4().hex[:8]}"
        self.admin(f"CREATE DATABASE {self.name}")
        user = f"{database['USER']}:{database['PASSWORD']}@" if database["PASSWORD"] else f"{database['USER']}@"
        where = f"{database['HOST'] or '127.0.0.1'}:{database['PORT'] or 5432}"
        self.environment = {
            **{name: os.environ[name] for name in ("PATH", "HOME", "LANG", "TMPDIR") if name in os.environ},
            "DJANGO_SETTINGS_MODULE": "darkroom_service.settings",
            "DATABASE_URL": f"postgres://{user}{where}/{self.name}",
            "REDIS_URL": f"redis://127.0.0.1:{self.broker_port}/0",
            "EMAIL_URL": f"smtp://127.0.0.1:{self.mail_port}",
            "SECRET_KEY": "only for tests",
            "DARKROOM_DATA": str(folder / "data"),
            "DARKROOM_LOG_LEVEL": "WARNING",
            "DARKROOM_MAIL_TIMEOUT": str(STORM.mail_timeout),
            "DARKROOM_DELIVERY_LEASE": str(STORM.lease),
            "DARKROOM_DELIVERY_BACKOFF": str(STORM.backoff),
            "DARKROOM_DELIVERY_SENDERS": "1",  # so that one kill can repeat one mail
            "DARKROOM_TICK_SECONDS": str(STORM.tick),
        }

    def admin(self, statement):
        with psycopg.connect(dbname="postgres", autocommit=True, **self.server) as connection:
            connection.execute(statement)

    def ask(self, statement):
        with psycopg.connect(dbname=self.name, autocommit=True, **self.server) as connection:
            return connection.execute(statement).fetchall()

    def run(self, *command):
        subprocess.run([sys.executable, "-m", *command], cwd=ROOT, env=self.environment, check=True)

    def start(self, *command):
        self.started += 1
        log = (self.folder / f"{self.started}.log").open("w")
        with log:
            return subprocess.Popen(
                command, cwd=ROOT, env=self.environment, start_new_session=True, stdout=log, stderr=log
            )

    def start_worker(self):
        celery = (sys.executable, "-m", "celery", "--quiet", "--app", "darkroom_service.celery:app")
        name = f"w{self.started}@storm"
        quiet = ("--without-gossip", "--without-mingle", "--without-heartbeat", "--loglevel", "WARNING")
        self.workers.append(
            self.start(*celery, "worker", "--pool", "threads", "--concurrency", "1", "--hostname", name, *quiet)
        )

    def start_beat(self):
        celery = (sys.executable, "-m", "celery", "--quiet", "--app", "darkroom_service.celery:app")
        self.beats.append(self.start(*celery, "beat", "--schedule", str(self.folder / f"beat-{self.started}")))

    def start_broker(self):
        where = ("--port", str(self.broker_port), "--bind", "127.0.0.1", "--save", "", "--appendonly", "no")
        self.broker = self.start("redis-server", *where, "--dir", str(self.folder))
        until = time.monotonic() + 20
        while time.monotonic() < until:
            try:
                return self.tell_broker("ping")
            except redis.ConnectionError:
                time.sleep(0.1)
        raise AssertionError("the broker does not start")

    def tell_broker(self, word):
        with redis.Redis(port=self.broker_port) as client:
            return client.execute_command(word)

    def kill(self, kept, start_again):
        victim = self.chance.choice(kept)
        victim.send_signal(signal.SIGKILL)
        victim.wait()
        kept.remove(victim)
        start_again()

    def close(self):
        for process in [*self.beats, *self.workers, *self.others, self.broker]:
            process.kill()
            process.wait()
        self.admin(f"DROP DATABASE IF EXISTS {self.name} WITH (FORCE)")


@pytest.fixture
def scene(tmp_path):
    if shutil.which("redis-server") is None:
        pytest.skip("needs redis-server")
    made = Scene(tmp_path)
    made.start_broker()
    try:
        made.others.append(
            made.start(sys.executable, "-m", "tests.sending.sink", str(made.mail_port), str(made.taken), "7")
        )
        yield made
    finally:
        made.close()


def rage(scene):
    """Kill and empty everything in turn while the notices fall due; the broker is away for a while in the middle."""
    acts = ["worker"] * STORM.worker_kills + ["beat"] * STORM.beat_kills + ["flush"] * STORM.flushes
    scene.chance.shuffle(acts)
    pause = max(STORM.spread, STORM.broker_away) * 1.5 / len(acts)
    for place, act in enumerate(acts):
        time.sleep(pause)
        if place == len(acts) // 2:
            scene.broker.terminate()
            scene.broker.wait()
            time.sleep(STORM.broker_away)
            scene.start_broker()
        match act:
            case "worker":
                scene.kill(scene.workers, scene.start_worker)
            case "beat":
                scene.kill(scene.beats, scene.start_beat)
            case "flush":
                scene.tell_broker("flushall")


def open_rows(scene):
    return scene.ask("SELECT count(*) FROM accounts_delivery WHERE state NOT IN ('sent', 'parked', 'dropped')")[0][0]


def test_nothing_is_lost_and_every_repeat_can_be_told(scene):
    for _ in range(STORM.workers):
        scene.start_worker()
    scene.run("tests.sending.fill", str(STORM.notices), str(STORM.spread))  # while the workers come up
    for _ in range(2):  # one too many, by mistake
        scene.start_beat()
    rage(scene)
    until = time.monotonic() + STORM.patience
    while (left := open_rows(scene)) and time.monotonic() < until:
        time.sleep(1)

    lines = [line.split() for line in scene.taken.read_text().splitlines()]
    got = Counter(message_id for how, message_id, _ in lines if how in {"taken", "dropped"})
    answers = Counter(how for how, _, _ in lines)
    rows = scene.ask(
        "SELECT d.public_id, d.state, extract(epoch FROM d.sent_at - n.posted_at) FROM accounts_delivery d "
        "JOIN accounts_notice n ON n.id = d.notice_id WHERE n.subject LIKE 'storm:%'"
    )
    waits = sorted(float(wait) for _, _, wait in rows if wait is not None)
    repeats = sum(got.values()) - len(got)
    figures = {
        "notices": STORM.notices, "distinct": len(got), "repeats": repeats, "answers": dict(answers),
        "kills": STORM.worker_kills, "waited": [round(waits[int(len(waits) * part)], 1) for part in (0.5, 0.99)],
        "states": dict(Counter(state for _, state, _ in rows)),
    }  # fmt: skip
    print(json.dumps(figures))  # noqa: T201
    assert left == 0
    assert figures["states"] == {"sent": STORM.notices}
    ours = {f"<{public_id}@notices.darkroom.invalid>" for public_id, _, _ in rows}
    assert ours <= got.keys(), "lost"
    assert len(ours) == STORM.notices
    # What the server took without a word may come again, and the one mail that a killed worker had under way.
    assert repeats <= answers["dropped"] + STORM.worker_kills
    assert len({(message_id, to) for _, message_id, to in lines}) == len({message_id for _, message_id, _ in lines})
