"""Tokens for programs: made for a person, ended by the same person."""

from datetime import timedelta

from accounts.models import Person, Token


def issue(person: Person, *, name: str, days: int | None) -> tuple[Token, str]:
    """Make a token and return it with its secret, which is shown this once; without ``days`` it never runs out."""
    expiry = None if days is None else timedelta(days=days)
    made: tuple[Token, str] = Token.objects.create(user=person, name=name, expiry=expiry)
    return made


def end(token: Token) -> None:
    """End a token at once."""
    token.delete()
