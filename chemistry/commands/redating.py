"""The dates kept on vessels, counted anew and written: of one vessel, or of a whole darkroom in another time zone."""

from accounts.commands.entry import Work
from chemistry.commands import standing
from chemistry.models import Vessel

DATED = ("state", "use_by", "use_by_rule", "load_limit", "version")


def restate(vessel: Vessel, work: Work, *more: str) -> None:
    """Count a vessel's date and state anew and write them, with what ``more`` of its row was changed."""
    standing.refresh(vessel, work)
    vessel.version += 1
    vessel.save(update_fields=[*DATED, *more])


def redate_locked(work: Work) -> None:
    """Count every date of the darkroom's vessels anew: the days they are good until are days of the new calendar."""
    filled = list(Vessel.objects.with_contents().filter(darkroom=work.darkroom, contents__gt=0))
    for vessel in filled:
        standing.refresh(vessel, work)
        vessel.version += 1
    Vessel.objects.bulk_update(filled, DATED)
