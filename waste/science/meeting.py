"""Does this liquid belong into that container: by its stream, and by what it would meet there."""

from collections.abc import Iterable

from waste.science.compatibility import Grade, Meeting, judge, worst
from waste.science.stream import CONTAMINATED_SOLIDS, UNIDENTIFIED


def met(liquid: str | None, container_sort: str, held: Iterable[str], *, soaked: str | None = None) -> Meeting:
    """Judge a liquid meeting what a container holds or last held, and what it is kept for.

    ``soaked`` is the liquid in a cloth or absorbent: in the bag for solids only what gives off something that hurts
    people forbids (our choice; wrung out and bagged by kind, the rest lies apart). No liquid is compared with nothing.
    """
    if soaked is not None and container_sort == CONTAMINATED_SOLIDS:
        found = worst(soaked, set(held) - {CONTAMINATED_SOLIDS})
        return found if found.grade is Grade.NEVER and found.known else judge(soaked, None)
    if liquid is None:
        return judge(container_sort, None)
    own = {container_sort} - ({UNIDENTIFIED} if liquid == UNIDENTIFIED else set())
    others = set(held) | own
    return worst(liquid, sorted(others))
