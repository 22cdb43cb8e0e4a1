"""Waste for tests, made through the commands only: streams, containers and pours."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from accounts.commands.entry import Answer, Work
from accounts.models import Membership
from darkroom_service.quantity import tenths
from tests import make
from waste.commands import container, fill, stream
from waste.models import Container, Fill, Stream


def ml(text: str) -> int:
    """Return millilitres as a count of 0.1 mL."""
    return tenths(Decimal(text))


def do(change: Callable[..., Any], who: Membership, *args: Any, at: Any = None, **given: Any) -> Any:
    """Run a command as somebody and return what it made; ``at`` is when they say it happened."""
    made: list[Any] = []

    def keep(result: Any) -> Answer:
        made.append(result)
        return Answer(201, {})

    change(make.ask(who, word=keep, occurred_at=at), *args, **given)
    return made[0]


def kept_apart(who: Membership, code: str = "fixer") -> Stream:
    """Return the darkroom's stream of that starter code, made if it is not there yet."""
    found = Stream.objects.filter(darkroom=who.darkroom, code=code).first()
    return found or do(stream.create, who, code=code)


def can(who: Membership, code: str = "fixer", *, rated: str = "10000", at: Any = None, **given: Any) -> Container:
    """Return an empty container for a stream: 10 L, filled to 9 L, unless told otherwise."""
    named = {"name": f"{code} can", "material": "hdpe", "stream": kept_apart(who, code).public_id, **given}
    return do(container.create, who, at=at, rated=ml(rated), **named)


def poured(who: Membership, into: Container, amount: str = "250", *, at: Any = None, **given: Any) -> Fill:
    """Return a pour by hand of the container's own stream, reported, unless told otherwise."""
    named = {"stream": into.stream.public_id, "text": "found on the shelf", **given}
    return do(fill.pour, who, at=at, container=into.public_id, volume=ml(amount), **named)


def within(who: Membership, inner: Callable[[Work], Any]) -> Any:
    """Run an inner step as another app's command would: locked, in its own transaction, with an entry."""
    from accounts.acts import Act
    from accounts.commands.entry import command

    return do(command(Act.FILL_CREATE)(inner), who)
