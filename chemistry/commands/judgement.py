"""From a verdict of the pure rules to what a command does with it: a plan is refused, a report is flagged."""

from typing import Any, Protocol

from darkroom_service.refusal import Unworkable


class Judged(Protocol):
    """Any verdict of ``chemistry.science``."""

    @property
    def ok(self) -> bool: ...
    @property
    def code(self) -> str: ...
    @property
    def reason(self) -> str: ...


def insist(verdict: Judged, **facts: Any) -> None:
    """Refuse a plan the rules say no to, with what would be allowed."""
    if not verdict.ok:
        offers = [str(each) for each in getattr(verdict, "offers", ())]
        allowed = f" What would work: {'; '.join(offers)}." if offers else ""
        raise Unworkable(verdict.code, f"{verdict.reason}{allowed}", offers=offers, **facts)


def flag(flags: list[str], *verdicts: Judged) -> None:
    """Note on a report which rules it broke; the report itself stands."""
    flags.extend(verdict.code for verdict in verdicts if not verdict.ok and verdict.code not in flags)
