"""The worker program and its whole schedule: one tick. What is due lies in the database; a message is only a hint."""

import os
import warnings
from contextlib import suppress
from typing import Any

import django
from celery import Celery, signals
from celery.platforms import SecurityWarning
from django.apps import apps
from django.conf import settings
from django_structlog.celery.steps import DjangoStructLogInitStep
from kombu.exceptions import OperationalError

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "darkroom_service.settings")
if not apps.ready:
    django.setup()

# Models can be read only now.
from accounts.sending.run import deliver, waiting
from darkroom_service import tick as beat

# It warns of pickled messages to a worker that runs as root; ours are JSON only.
warnings.filterwarnings("ignore", category=SecurityWarning)
TICK_SECONDS = settings.TICK_SECONDS
# So many deliveries are worth another worker's help; more hints than this would only crowd the broker.
WORTH_A_HAND, MOST_HANDS = 20, 8


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
    """Run one beat, and ask other workers for a hand when much waits. A lost message costs nothing but time."""
    # Asked before sending, so that they begin together; without a broker this worker does it alone.
    with suppress(OperationalError):
        for _ in range(min(waiting() // WORTH_A_HAND, MOST_HANDS)):
            lend_a_hand.apply_async(expires=TICK_SECONDS, retry=False)
    beat.tick()


@app.task
def lend_a_hand() -> None:
    """Send what is due, beside whoever else does."""
    deliver(seconds=TICK_SECONDS, senders=settings.DELIVERY_SENDERS)


@signals.beat_init.connect
def tick_at_once(**_: Any) -> None:
    """Do not let the first tick wait for a whole interval."""
    tick.apply_async(expires=TICK_SECONDS)
