"""Where a value comes from, and whether anybody has read it there."""

from dataclasses import dataclass
from enum import StrEnum


class How(StrEnum):
    """How a value got here. ``INDIRECT`` was read in another law with the same numbers, ``WEAK`` in a copy only."""

    READ = "read"
    INDIRECT = "indirect"
    COMPUTED = "computed"
    POLICY = "policy"
    DARKROOM = "darkroom"
    WEAK = "weak"
    MEMORY = "memory"


UNREAD = (How.MEMORY, How.WEAK)


@dataclass(frozen=True)
class Origin:
    """A source: its title for people, its address where there is one, and how its values were taken from it."""

    title: str
    how: How
    address: str = ""
