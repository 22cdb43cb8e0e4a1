"""Two people editing one row: the second is told, instead of quietly overwriting the first."""

import re
from typing import Any
from uuid import UUID

from rest_framework import status
from rest_framework.exceptions import APIException
from rest_framework.request import Request
from rest_framework.response import Response

from darkroom_service.refusal import Malformed, Stale

TAG = re.compile(r'(W/)?"([\x21\x23-\x7e]*)"', re.ASCII)


class MatchMissing(APIException):
    """An edit came without saying which version was read (RFC 6585)."""

    status_code = status.HTTP_428_PRECONDITION_REQUIRED
    default_code = "precondition.missing"
    default_detail = "Send If-Match with the ETag you read, so that nobody's change is overwritten unseen."


def tag(row_id: int | str | UUID, version: int) -> str:
    """Return the strong entity tag of one version of a row."""
    return f'"{row_id}.{version}"'


def check(request: Request, row_id: int | str | UUID, version: int) -> None:
    """Refuse an edit unless ``If-Match`` names this version; call it under the lock, with the version read there."""
    header = request.headers.get("If-Match")
    if header is None:
        raise MatchMissing
    if header.strip() == "*":
        return
    if tag(row_id, version) not in _tags(header):
        words = "this has changed since you read it; read it again and repeat your change on what you find"
        raise Stale("precondition.stale", words, etag=tag(row_id, version))


def answer(request: Request, body: Any, row_id: int | str | UUID, version: int) -> Response:
    """Answer a read with its ETag, or with 304 and no body when the reader already has this version."""
    headers = {"ETag": tag(row_id, version)}
    header = request.headers.get("If-None-Match", "")
    known = {match[2] for match in TAG.finditer(header)}
    if header.strip() == "*" or headers["ETag"].strip('"') in known:
        return Response(status=status.HTTP_304_NOT_MODIFIED, headers=headers)
    return Response(body, headers=headers)


def _tags(header: str) -> list[str]:
    """Split ``If-Match``; a weak tag stays as it is and so never equals a strong one."""
    parts = [part.strip() for part in header.split(",")]
    if not all(TAG.fullmatch(part) for part in parts):
        raise Malformed("precondition.malformed", 'If-Match holds ETags in quotes, such as "42.3", or *', pointer="")
    return parts
