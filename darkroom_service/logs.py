"""One structured line for each event: JSON in production, readable at home, never a secret."""

import re
from collections.abc import Callable, MutableMapping
from typing import Any

import structlog
import structlog.tracebacks
from django.http import HttpRequest, HttpResponse

# Addresses that are themselves a secret: whoever has one may read.
SECRET_PATHS = re.compile(r"(/(?:feeds|unsubscribe)/)[^\s/?\"']+")
SECRET_WORDS = ("password", "secret", "token", "authorization", "cookie", "csrf")


def conceal(_logger: Any, _method: str, event: MutableMapping[str, Any]) -> MutableMapping[str, Any]:
    """Replace the value of every field whose name speaks of a secret, and every address that is one."""
    return {
        name: "***" if any(word in name.lower() for word in SECRET_WORDS) else _without_paths(value)
        for name, value in event.items()
    }


def _without_paths(value: Any) -> Any:
    return SECRET_PATHS.sub(r"\1***", value) if isinstance(value, str) else value


SHARED: list[Any] = [
    structlog.contextvars.merge_contextvars,
    structlog.stdlib.add_log_level,
    structlog.stdlib.add_logger_name,
    structlog.processors.TimeStamper(fmt="iso", utc=True),
    structlog.stdlib.PositionalArgumentsFormatter(),
    structlog.processors.UnicodeDecoder(),
    conceal,
]


def configuration(*, as_json: bool, level: str) -> dict[str, Any]:
    """Set structlog up and return the matching LOGGING setting."""
    structlog.configure(
        processors=[
            structlog.stdlib.filter_by_level,
            *SHARED,
            structlog.stdlib.ProcessorFormatter.wrap_for_formatter,
        ],
        logger_factory=structlog.stdlib.LoggerFactory(),
        cache_logger_on_first_use=True,
    )
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {"line": {"()": structlog.stdlib.ProcessorFormatter, **_rendering(as_json=as_json)}},
        "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "line"}},
        "root": {"handlers": ["stderr"], "level": level},
        "loggers": {
            # Our own middleware says all of this with the request's id, so the framework's twin lines stay quiet.
            "django.request": {"level": "CRITICAL"},
            "django.server": {"level": "WARNING"},
            "django_structlog.middlewares.request": {"level": level},
        },
    }


def _rendering(*, as_json: bool) -> dict[str, Any]:
    # Tracebacks without the values of local variables: a password may be among them.
    tracebacks = structlog.tracebacks.ExceptionDictTransformer(show_locals=False)
    last: list[Any] = (
        [structlog.processors.ExceptionRenderer(tracebacks), structlog.processors.JSONRenderer()]
        if as_json
        else [structlog.dev.ConsoleRenderer(colors=False, exception_formatter=structlog.dev.plain_traceback)]
    )
    return {
        "foreign_pre_chain": SHARED,
        "processors": [structlog.stdlib.ProcessorFormatter.remove_processors_meta, *last],
    }


class RequestIdHeader:
    """Tell the caller the id under which the request was logged; it stands inside the request logging middleware."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer as the rest of the program does, with ``X-Request-Id`` added."""
        response = self.get_response(request)
        response["X-Request-Id"] = structlog.contextvars.get_contextvars().get("request_id", "")
        return response
