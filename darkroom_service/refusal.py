"""All a rule may raise. No HTTP numbers live here: ``api/errors.py`` alone chooses statuses."""

from typing import Any


class Refusal(Exception):
    """A rule said no. ``code`` is ``noun.adjective``; ``facts`` hold what a program needs to do better next time."""

    def __init__(self, code: str, message: str, **facts: Any) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.facts = facts


class Malformed(Refusal):
    """The request's shape is wrong, or names something that is not there, at ``pointer`` (RFC 6901)."""

    def __init__(self, code: str, message: str, *, pointer: str, **facts: Any) -> None:
        super().__init__(code, message, **facts)
        self.pointer = pointer


class NotAllowed(Refusal):
    """The person may not do this; the message says what is missing and who can help."""


class NotFound(Refusal):
    """Nothing by that name is visible to the person; never says whether it exists."""


class Clash(Refusal):
    """The state of things stands against it now; the message says what state would allow it."""


class Unworkable(Refusal):
    """Chemistry, arithmetic or a reused key says no; the message says what would work."""


class Stale(Refusal):
    """The row has changed since the person read it; the message says to read it again."""
