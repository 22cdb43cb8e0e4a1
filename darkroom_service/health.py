"""Is it alive, and is it ready: up or down, and how long ago things last went right; nothing that helps a stranger."""

from collections.abc import Callable
from typing import Any

import structlog
from django.conf import settings
from django.core.cache import cache
from django.db import DEFAULT_DB_ALIAS, connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, JsonResponse
from django.views.decorators.http import require_safe

from accounts import triggers
from accounts.commands import heartbeat
from accounts.models import Delivery, Pulse
from accounts.models.delivery import OPEN
from darkroom_service import clock

log = structlog.get_logger(__name__)
NO_MAIL = "mail is not set up"


@require_safe
def healthz(request: HttpRequest) -> JsonResponse:
    """Say that this process answers; touches nothing."""
    return JsonResponse({"status": "up"})


@require_safe
def readyz(request: HttpRequest) -> JsonResponse:
    """Say of each part whether it is up; 503 when any is down."""
    checks = {name: "up" if _passes(name, check) else "down" for name, check in CHECKS.items()}
    status = "down" if "down" in checks.values() else "up"
    body: dict[str, Any] = {"status": status, "checks": checks, "mail": "set up" if settings.MAIL_READY else NO_MAIL}
    if checks["database"] == checks["migrations"] == "up":
        body["seconds_since"] = _ages()
    return JsonResponse(
        body,
        status=200 if status == "up" else 503,
        headers={"Cache-Control": "no-store"},
    )


def _ages() -> dict[str, int | None]:
    """Return seconds since the last whole tick, the oldest unsent notice and the last mail accepted; None for never."""
    now = clock.now()
    unsent = Delivery.objects.filter(state__in=OPEN)
    oldest = unsent.order_by("notice__posted_at").values_list("notice__posted_at", flat=True).first()
    moments = {"tick": heartbeat.last(Pulse.TICK), "oldest_unsent": oldest, "last_mail": heartbeat.last(Pulse.MAIL)}
    return {name: None if at is None else max(0, int((now - at).total_seconds())) for name, at in moments.items()}


def _database() -> bool:
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
        return cursor.fetchone() == (1,)


def _migrations() -> bool:
    executor = MigrationExecutor(connection)
    return not executor.migration_plan(executor.loader.graph.leaf_nodes())


def _append_only() -> bool:
    return not triggers.missing()


def _redis() -> bool:
    cache.set("readyz", "up", timeout=5)
    return cache.get("readyz") == "up"


def _scheduler() -> bool:
    last = heartbeat.last(Pulse.TICK)
    return last is not None and clock.now() - last <= settings.HEARTBEAT_LIMIT


CHECKS: dict[str, Callable[[], bool]] = {
    "database": _database,
    "migrations": _migrations,
    "append_only": _append_only,
    "scheduler": _scheduler,
    **({"redis": _redis} if settings.REDIS_URL else {}),
}


def _passes(name: str, check: Callable[[], bool]) -> bool:
    """Run one check; whatever goes wrong in it means down, and the log says why."""
    try:
        return check()
    except Exception:
        log.exception("not_ready", part=name, database=DEFAULT_DB_ALIAS)
        return False
