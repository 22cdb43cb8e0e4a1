"""May this be poured there: judged before the act as a plan, named after the act as flags of a report."""

from dataclasses import dataclass

INCOMPATIBLE = "container.incompatible"
WRONG_STREAM = "container.wrong_stream"
CAUTION = "container.caution"
ACKNOWLEDGED = "container.acknowledged"
QUARANTINED = "container.quarantined"
COLLECTED = "container.collected"
CLOSED = "container.closed"
UNOPENED = "container.unopened"
OVERFULL = "container.overfull"
OVER_RATED = "container.over_rated"

REASONS = {
    INCOMPATIBLE: "This must not meet what the container holds or last held.",
    WRONG_STREAM: "This container is for another kind of waste.",
    CAUTION: "This may meet what the container holds only with care.",
    QUARANTINED: "This container is quarantined: something went in that should not have.",
    COLLECTED: "This container was collected.",
    CLOSED: "This container is closed.",
    UNOPENED: "This container was not in use yet at that time.",
    OVERFULL: "This would go over the working fill of the container.",
    OVER_RATED: "This is more than the container is made for: read its level and look for a spill.",
}


# A pour that breaks one of these makes the contents doubtful once it has happened: an incident.
DOUBTFUL = frozenset({INCOMPATIBLE, WRONG_STREAM, COLLECTED, CLOSED, OVERFULL, OVER_RATED})


@dataclass(frozen=True)
class Judgement:
    """``flags`` are the rules a pour breaks, worst first; ``room`` is what still goes in, in 0.1 mL.

    ``acknowledged``: somebody spoke for it where a spoken word was asked; the word lifted what it could.
    """

    flags: tuple[str, ...]
    room: int
    acknowledged: bool = False

    @property
    def allowed(self) -> bool:
        """Say whether the pour may be planned."""
        return not self.flags

    @property
    def quarantines(self) -> bool:
        """Say whether such a pour, once it has happened, makes the contents doubtful."""
        return bool(DOUBTFUL & set(self.flags))

    @property
    def reason(self) -> str:
        """Say what is wrong, the worst first."""
        return REASONS[self.flags[0]] if self.flags else ""


def judge(
    state: str, contents: int, working_fill: int, rated: int, volume: int, *, same_stream: bool, meeting: str = "meet",
    acknowledged: bool = False,
) -> Judgement:  # fmt: skip
    """Judge a pour; ``state`` as of the container or unopened, volumes are counts of 0.1 mL, ``volume`` > 0.

    ``meeting`` is the verdict on what would meet: meet, caution or never. A word of acknowledgement lifts a caution
    and another stream, never what must not meet. Exactly full is allowed: contents + volume <= working fill (common
    practice, no source).
    """
    after = contents + volume
    asked = meeting == "caution" or (meeting == "meet" and not same_stream)
    lifted = asked and acknowledged
    broken = {
        INCOMPATIBLE: meeting == "never",
        WRONG_STREAM: not same_stream and not lifted,
        CAUTION: meeting == "caution" and not lifted,
        QUARANTINED: state == "quarantined",
        COLLECTED: state == "collected",
        CLOSED: state == "closed",
        UNOPENED: state == "unopened",
        OVERFULL: after > working_fill,
        OVER_RATED: after > rated,
    }
    flags = tuple(code for code, is_broken in broken.items() if is_broken)
    return Judgement(flags, max(working_fill - contents, 0), lifted)


def working_fill(rated: int) -> int:
    """Return 90 % of a container's rated volume, rounded down: what it is filled to unless somebody says otherwise.

    Liquid grows when it warms and a full can spills when it is carried. The road rules (ADR 4.1.1.4 (a), 2013 text)
    allow 94 % at 15 °C for a liquid that boils at 100 °C or above; a level read by eye is a few per cent off.
    """
    return rated * 9 // 10
