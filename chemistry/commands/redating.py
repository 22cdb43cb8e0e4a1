"""A darkroom moved to another time zone: the days its vessels are good until are days of the new calendar."""

from accounts.commands.entry import Work
from chemistry.commands import standing
from chemistry.models import Vessel


def redate_locked(work: Work) -> None:
    """Count every date of the darkroom's vessels anew."""
    filled = list(Vessel.objects.with_contents().filter(darkroom=work.darkroom, contents__gt=0))
    for vessel in filled:
        standing.refresh(vessel, work)
        vessel.version += 1
    Vessel.objects.bulk_update(filled, ["state", "use_by", "use_by_rule", "load_limit", "version"])
