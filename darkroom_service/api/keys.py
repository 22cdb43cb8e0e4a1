"""The key that makes a retried write happen once, and the digest that tells a retry from another request."""

import hashlib
import json
import re
from decimal import Decimal
from typing import Any
from uuid import UUID

from rest_framework.request import Request

from darkroom_service.refusal import Malformed

HEADER = "Idempotency-Key"
GRAMMAR = re.compile(r'("?)([0-9a-fA-F]{8}(?:-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12})\1', re.ASCII)


def idempotency_key(request: Request) -> UUID:
    """Return the request's idempotency key: a UUID, bare or as a quoted string."""
    text = request.headers.get(HEADER, "").strip()
    if not text:
        words = f"send an {HEADER} header with a new UUID for each act, and the same one when you retry it"
        raise Malformed("key.missing", words, pointer="")
    match = GRAMMAR.fullmatch(text)
    if match is None:
        words = f"{HEADER} holds one UUID, such as 6f1d0c9e-2b1a-4c57-9d0e-0d6a4f6b7c11"
        raise Malformed("key.malformed", words, pointer="")
    return UUID(match[2])


def digest(method: str, route: str, body: Any) -> str:
    """Return the SHA-256 of what the request asks for, whatever its spacing and order of names."""
    canonical = json.dumps(body, sort_keys=True, separators=(",", ":"), ensure_ascii=False, default=_number)
    return hashlib.sha256(f"{method.upper()}\n{route}\n{canonical}".encode()).hexdigest()


def _number(value: object) -> dict[str, str]:
    """Keep a bare JSON number apart from the string that looks like it."""
    if isinstance(value, Decimal):
        return {"number": str(value)}
    raise TypeError(f"{type(value).__name__} never comes out of the JSON parser")
