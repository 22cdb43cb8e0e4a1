"""May this be poured there: judged before the act as a plan, named after the act as flags of a report."""

from dataclasses import dataclass

WRONG_STREAM = "container.wrong_stream"
QUARANTINED = "container.quarantined"
CLOSED = "container.closed"
UNOPENED = "container.unopened"
OVERFULL = "container.overfull"
OVER_RATED = "container.over_rated"

REASONS = {
    WRONG_STREAM: "This container is for another kind of waste.",
    QUARANTINED: "This container is quarantined: something went in that should not have.",
    CLOSED: "This container is closed.",
    UNOPENED: "This container was not in use yet at that time.",
    OVERFULL: "This would go over the working fill of the container.",
    OVER_RATED: "This is more than the container is made for: read its level and look for a spill.",
}


@dataclass(frozen=True)
class Judgement:
    """``flags`` are the rules a pour breaks, worst first; ``room`` is what still goes in, in 0.1 mL."""

    flags: tuple[str, ...]
    room: int

    @property
    def allowed(self) -> bool:
        """Say whether the pour may be planned."""
        return not self.flags

    @property
    def quarantines(self) -> bool:
        """Say whether such a pour, once it has happened, makes the contents doubtful."""
        return WRONG_STREAM in self.flags or CLOSED in self.flags

    @property
    def reason(self) -> str:
        """Say what is wrong, the worst first."""
        return REASONS[self.flags[0]] if self.flags else ""


def judge(state: str, contents: int, working_fill: int, rated: int, volume: int, *, same_stream: bool) -> Judgement:
    """Judge a pour; ``state`` is open, closed, quarantined or unopened, volumes are counts of 0.1 mL, ``volume`` > 0.

    Exactly full is allowed: contents + volume <= working fill (common practice, no source).
    """
    after = contents + volume
    broken = {
        WRONG_STREAM: not same_stream,
        QUARANTINED: state == "quarantined",
        CLOSED: state == "closed",
        UNOPENED: state == "unopened",
        OVERFULL: after > working_fill,
        OVER_RATED: after > rated,
    }
    return Judgement(tuple(code for code, is_broken in broken.items() if is_broken), max(working_fill - contents, 0))


def working_fill(rated: int) -> int:
    """Return 90 % of a container's rated volume, rounded down: what it is filled to unless somebody says otherwise.

    Liquid grows when it warms and a full can spills when it is carried. The road rules (ADR 4.1.1.4 (a), 2013 text)
    allow 94 % at 15 °C for a liquid that boils at 100 °C or above; a level read by eye is a few per cent off.
    """
    return rated * 9 // 10
