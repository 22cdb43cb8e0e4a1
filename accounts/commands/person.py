"""People who can sign in: accounts of their own, and accounts a darkroom makes for its members."""

import re

from django.contrib.auth.hashers import make_password
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from accounts.models import Darkroom, Person
from darkroom_service.refusal import Clash, Malformed

LOGIN = re.compile(r"[a-z0-9]+(?:[._+-][a-z0-9]+)*", re.ASCII)


def open_account(*, username: str, name: str, password: str | None = None, email: str = "") -> Person:
    """Make an account that belongs to no darkroom: for the operator, the demo, and founders of darkrooms."""
    if not LOGIN.fullmatch(username):
        words = "A login name has small letters and digits, with single . _ + or - between them."
        raise Malformed("login.malformed", words, pointer="/username")
    if Person.objects.filter(username=username).exists():
        raise Clash("login.taken", "That login name is taken. Choose another.")
    return Person.objects.create(
        username=username, name=name, email=email, password=hashed(password, username=username, name=name)
    )


def login_in(room: Darkroom, wish: str) -> str:
    """Return the login name that ``wish`` becomes in a darkroom.

    Each darkroom has a name space of its own, ``max@elm-street``: whoever enrols people can only ever clash with names
    of the same darkroom, and learns nothing of who else has an account. An account of one's own holds no ``@``.
    """
    return f"{wish}@{room.slug}"


def hashed(password: str | None, *, username: str, name: str) -> str:
    """Return the hash to store; without a password nobody can sign in. Slow by design: call it before taking a lock."""
    if password is None:
        return make_password(None)
    try:
        validate_password(password, Person(username=username, name=name))
    except ValidationError as weak:
        raise Malformed("password.weak", " ".join(weak.messages), pointer="/password") from None
    return make_password(password)
