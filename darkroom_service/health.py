"""Is it alive, and is it ready: up or down only, with nothing that would help a stranger."""

import uuid
from collections.abc import Callable
from datetime import datetime

import structlog
from django.conf import settings
from django.core.cache import cache
from django.db import DEFAULT_DB_ALIAS, connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, JsonResponse
from django.views.decorators.http import require_safe

from accounts import triggers
from darkroom_service import clock

log = structlog.get_logger(__name__)
HEARTBEAT = "heartbeat"


@require_safe
def healthz(request: HttpRequest) -> JsonResponse:
    """Say that this process answers; touches nothing."""
    return JsonResponse({"status": "up"})


@require_safe
def readyz(request: HttpRequest) -> JsonResponse:
    """Say of each part whether it is up; 503 when any is down."""
    checks = {name: "up" if _passes(name, check) else "down" for name, check in CHECKS.items()}
    status = "down" if "down" in checks.values() else "up"
    return JsonResponse(
        {"status": status, "checks": checks},
        status=200 if status == "up" else 503,
        headers={"Cache-Control": "no-store"},
    )


def record_heartbeat(at: datetime) -> None:
    """Keep the moment of the scheduler's last tick where every process can read it."""
    if settings.REDIS_URL:
        cache.set(HEARTBEAT, at.isoformat(), timeout=None)
    else:
        draft = settings.DATA / f".{HEARTBEAT}.{uuid.uuid4()}"
        draft.write_text(at.isoformat())
        draft.replace(settings.DATA / HEARTBEAT)


def last_heartbeat() -> datetime | None:
    """Return the moment of the scheduler's last tick, if there ever was one."""
    if settings.REDIS_URL:
        text = cache.get(HEARTBEAT)
    else:
        path = settings.DATA / HEARTBEAT
        text = path.read_text() if path.exists() else None
    return datetime.fromisoformat(text) if text else None


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
    last = last_heartbeat()
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
