"""What is wrong with a composition somebody gave, each fault named exactly and where it stands."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """One fault: ``code`` is ``noun.adjective``, ``index`` the ingredient it concerns, None for the whole."""

    code: str
    words: str
    index: int | None = None


class Faulty(ValueError):
    """A composition that cannot be judged; ``faults`` holds every fault found, in the order given."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        super().__init__(" ".join(each.words for each in faults))
        self.faults = tuple(faults)
