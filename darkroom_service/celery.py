"""The worker program and its whole schedule: one tick, which finds in the database what is due."""

import os
import warnings
from typing import Any

import django
import structlog
from celery import Celery, signals
from celery.platforms import SecurityWarning
from django.apps import apps
from django.conf import settings
from django_structlog.celery.steps import DjangoStructLogInitStep

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "darkroom_service.settings")
if not apps.ready:
    django.setup()

# Models can be read only now.
from django.contrib.sessions.models import Session
from knox.models import get_token_model

from darkroom_service import clock, health

log = structlog.get_logger(__name__)
# It warns of pickled messages to a worker that runs as root; ours are JSON only.
warnings.filterwarnings("ignore", category=SecurityWarning)
TICK_SECONDS = 30


def broker() -> dict[str, Any]:
    """Return the broker settings: Redis when there is one, else files in the data folder."""
    if settings.REDIS_URL:
        # Longer than any task may run, or Redis hands the same task out again and again.
        return {"broker_url": settings.REDIS_URL, "broker_transport_options": {"visibility_timeout": 900}}
    queue, control = settings.DATA / "broker" / "queue", settings.DATA / "broker" / "control"
    for folder in (queue, control):
        folder.mkdir(parents=True, exist_ok=True)
    options = {
        "data_folder_in": str(queue),
        "data_folder_out": str(queue),
        "control_folder": str(control),
        "polling_interval": 0.2,
    }
    return {"broker_url": "filesystem://localhost", "broker_transport_options": options}


app = Celery("darkroom_service")
app.conf.update(
    **broker(),
    task_acks_late=True,
    task_ignore_result=True,
    task_serializer="json",
    accept_content=["json"],
    task_soft_time_limit=240,
    task_time_limit=300,
    worker_prefetch_multiplier=1,
    worker_hijack_root_logger=False,
    broker_connection_retry_on_startup=True,
    enable_utc=True,
    timezone="UTC",
    beat_schedule={
        "tick": {
            "task": "darkroom_service.celery.tick",
            "schedule": TICK_SECONDS,
            "options": {"expires": TICK_SECONDS},
        }
    },
)
app.steps["worker"].add(DjangoStructLogInitStep)


@app.task
def tick() -> None:
    """Show that scheduler and worker are alive, and clear away sessions and tokens that have run out."""
    at = clock.now()
    health.record_heartbeat(at)
    sessions, _ = Session.objects.filter(expire_date__lte=at).delete()
    tokens, _ = get_token_model().objects.filter(expiry__lte=at).delete()
    if sessions or tokens:
        log.info("expired_cleared", sessions=sessions, tokens=tokens)


@signals.beat_init.connect
def tick_at_once(**_: Any) -> None:
    """Do not let the first tick wait for a whole interval."""
    tick.apply_async(expires=TICK_SECONDS)
