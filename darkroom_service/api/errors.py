"""Every refusal and failure in one shape, ``application/problem+json`` (RFC 9457); statuses are chosen here only."""

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any

import structlog
from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.db import DataError, InterfaceError, OperationalError
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from django.views import defaults
from rest_framework import exceptions
from rest_framework.settings import api_settings
from rest_framework.utils.encoders import JSONEncoder

from darkroom_service.quantity import QuantityFault
from darkroom_service.refusal import Clash, Malformed, NotAllowed, NotFound, Refusal, Stale, Unworkable

log = structlog.get_logger(__name__)

STATUSES: dict[type[Refusal], int] = {
    Malformed: 400,
    NotAllowed: 403,
    NotFound: 404,
    Clash: 409,
    Stale: 412,
    Unworkable: 422,
}
# The framework's one-word codes, said our way.
CODES = {
    "not_authenticated": "credentials.missing",
    "authentication_failed": "credentials.invalid",
    "permission_denied": "act.forbidden",
    "method_not_allowed": "method.unsupported",
    "not_acceptable": "format.unavailable",
    "unsupported_media_type": "media_type.unsupported",
    "throttled": "rate.exceeded",
    "parse_error": "body.unreadable",
    "error": "request.failed",
}
MOST_ERRORS = 50
RETRY_SECONDS = 2


class FactEncoder(JSONEncoder):
    """JSON for facts: exact numbers are written out as plain strings."""

    def default(self, obj: Any) -> Any:
        """Return what JSON can hold for ``obj``."""
        if isinstance(obj, Decimal):
            return f"{obj:f}"
        if isinstance(obj, Fraction):
            return str(obj)
        return super().default(obj)


def problem(
    status: int,
    code: str,
    detail: str,
    *,
    facts: Mapping[str, Any] | None = None,
    errors: Sequence[Mapping[str, str]] = (),
    headers: Mapping[str, str] | None = None,
) -> JsonResponse:
    """Return one problem document; ``code`` names the kind of problem for programs, ``detail`` is for people."""
    document: dict[str, Any] = {
        "type": f"/problems/{code}",
        "title": code.replace(".", " ").replace("_", " ").capitalize(),
        "status": status,
        "detail": detail,
        "code": code,
        "facts": dict(facts or {}),
    }
    if errors:
        document["errors"] = list(errors)
    return JsonResponse(
        document,
        encoder=FactEncoder,
        status=status,
        content_type="application/problem+json",
        headers=dict(headers or {}),
    )


def answer(fault: Exception, context: dict[str, Any]) -> HttpResponseBase | None:
    """Word any exception a view raises; None leaves an unforeseen one to the server-error page."""
    if isinstance(fault, Refusal):
        return refused(fault)
    if isinstance(fault, QuantityFault):
        return refused(Malformed(fault.code, fault.message, pointer="", **fault.facts))
    if isinstance(fault, Http404 | exceptions.NotFound):
        return absent()
    if isinstance(fault, PermissionDenied):
        fault = exceptions.PermissionDenied()
    if isinstance(fault, exceptions.ValidationError):
        errors = list(_pointed(fault.detail))[:MOST_ERRORS]
        return problem(400, "request.malformed", "The request's shape is wrong; see errors.", errors=errors)
    if isinstance(fault, exceptions.APIException):
        return _framework_fault(fault)
    return _database_fault(fault)


def refused(refusal: Refusal) -> JsonResponse:
    """Word a rule's no."""
    status = next((number for kind, number in STATUSES.items() if isinstance(refusal, kind)), 422)
    if status == 404:
        return absent()
    errors = []
    if isinstance(refusal, Malformed):
        errors = [{"pointer": refusal.pointer, "code": refusal.code, "detail": refusal.message}]
    return problem(status, refusal.code, refusal.message, facts=refusal.facts, errors=errors)


def absent() -> JsonResponse:
    """Answer for what is not there and for what is not yours: the same bytes, so that nobody learns which."""
    return problem(404, "resource.absent", "Nothing by that address is visible to you.")


def locked_out(request: HttpRequest, _response: HttpResponse | None, _credentials: Any) -> HttpResponse:
    """Answer a login after too many wrong passwords."""
    wait = int(settings.AXES_COOLOFF_TIME.total_seconds())
    detail = f"Too many wrong passwords for this login name from here; try again in {wait // 60} minutes."
    if not _speaks_json(request):
        return HttpResponse(detail, status=429, content_type="text/plain", headers={"Retry-After": str(wait)})
    return problem(429, "login.locked", detail, headers={"Retry-After": str(wait)})


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponseBase:
    """Answer what the framework itself could not read."""
    if not _speaks_json(request):
        return defaults.bad_request(request, exception)
    return problem(400, "request.malformed", "The request could not be read.")


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponseBase:
    """Answer what the framework itself forbade."""
    if not _speaks_json(request):
        return defaults.permission_denied(request, exception)
    return problem(403, "act.forbidden", "You may not do this.")


def not_found(request: HttpRequest, exception: Exception) -> HttpResponseBase:
    """Answer an address that no route knows."""
    return absent() if _speaks_json(request) else defaults.page_not_found(request, exception)


def server_error(request: HttpRequest) -> HttpResponseBase:
    """Answer an unforeseen failure without showing its inside; the log has it under the request's id."""
    if not _speaks_json(request):
        return defaults.server_error(request)
    detail = "Something failed on our side and nothing was written. Tell an admin the X-Request-Id of this answer."
    return problem(500, "server.failed", detail)


def _speaks_json(request: HttpRequest) -> bool:
    return request.path.startswith("/api/")


def _framework_fault(fault: exceptions.APIException) -> JsonResponse:
    headers = {}
    if getattr(fault, "auth_header", None):
        headers["WWW-Authenticate"] = fault.auth_header  # type: ignore[attr-defined]
    if getattr(fault, "wait", None):
        headers["Retry-After"] = str(int(fault.wait) + 1)  # type: ignore[attr-defined]
    code = getattr(fault.detail, "code", None) or fault.default_code
    return problem(fault.status_code, CODES.get(code, code), str(fault.detail), headers=headers)


def _database_fault(fault: Exception) -> JsonResponse | None:
    if isinstance(fault, OperationalError | InterfaceError):
        log.exception("database_unavailable", exc_info=fault)
        detail = "The database is busy or away and nothing was written. Send the same request again shortly."
        return problem(503, "server.busy", detail, headers={"Retry-After": str(RETRY_SECONDS)})
    if isinstance(fault, DataError):
        log.exception("value_refused_by_database", exc_info=fault)
        return problem(400, "value.out_of_range", "A value is too large or too long to be stored; nothing was written.")
    return None


def _pointed(detail: Any, pointer: str = "") -> Iterator[dict[str, str]]:
    """Walk nested validation errors and give each its JSON Pointer (RFC 6901)."""
    if isinstance(detail, Mapping):
        for name, inner in detail.items():
            own = name == api_settings.NON_FIELD_ERRORS_KEY
            yield from _pointed(inner, pointer if own else f"{pointer}/{_escaped(name)}")
    elif isinstance(detail, str):
        code = getattr(detail, "code", None) or "invalid"
        yield {"pointer": pointer, "code": code if "." in code else f"field.{code}", "detail": str(detail)}
    else:
        for index, inner in enumerate(detail):
            yield from _pointed(inner, pointer if isinstance(inner, str) else f"{pointer}/{index}")


def _escaped(name: object) -> str:
    return str(name).replace("~", "~0").replace("/", "~1")
