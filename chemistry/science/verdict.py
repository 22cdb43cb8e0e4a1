"""The answer of a rule: yes, or no with the reason and what would be allowed instead."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Verdict:
    """``code`` is ``noun.adjective`` for programs, ``reason`` one sentence for people, ``offers`` what would work."""

    ok: bool
    code: str = ""
    reason: str = ""
    offers: tuple[str, ...] = ()


ALLOWED = Verdict(ok=True)


def refused(code: str, reason: str, *offers: str) -> Verdict:
    """Return a no; a refusal without an offer is only right where nothing at all would be allowed."""
    return Verdict(False, code, reason, offers)
