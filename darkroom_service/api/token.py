"""Tokens for programs: one query, and no header however odd ends in a server error."""

import re
from typing import Any

import knox.auth
from rest_framework.exceptions import AuthenticationFailed

from darkroom_service import clock

TOKEN = re.compile(rb"[A-Za-z0-9_]{20,90}")


class TokenAuthentication(knox.auth.TokenAuthentication):
    """``Authorization: Token ...``; only a digest of the token is stored, and it expires."""

    def authenticate_credentials(self, token: bytes) -> Any:
        """Return the person and the token row, or refuse."""
        if not TOKEN.fullmatch(token):
            raise AuthenticationFailed("Invalid token.")
        return super().authenticate_credentials(token)

    def _cleanup_token(self, auth_token: Any) -> bool:
        """Pass over an expired token; reading never deletes, the worker's tick does."""
        return auth_token.expiry is not None and auth_token.expiry <= clock.now()


def login_name(request: Any, credentials: dict[str, Any] | None) -> str:
    """Return the login name tried, in the one spelling under which wrong passwords are counted."""
    return str((credentials or {}).get("username") or "").strip().lower()
