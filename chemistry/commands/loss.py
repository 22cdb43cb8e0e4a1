"""A notice, once, when a batch ends and more of it is unaccounted for than the darkroom's bounds."""

from accounts.acts import Role
from accounts.commands import notice
from accounts.commands.entry import Work
from accounts.models import Notice
from chemistry.commands.balance import drawn_up
from chemistry.models import Batch, Place
from chemistry.science.loss import worth_telling
from darkroom_service.quantity import millilitres

KIND = "batch-unaccounted"


def tell_locked(work: Work, batch: Batch) -> None:
    """Tell the technicians what went missing of a batch that has just ended; never twice of one batch."""
    (found,) = drawn_up([batch])
    missing = found.places[Place.UNACCOUNTED]
    had = found.made + found.water + found.from_batches
    room, subject = work.darkroom, f"batch:{batch.public_id}"
    if not worth_telling(missing, had, percent=room.loss_percent, volume=room.loss_volume):
        return
    if Notice.objects.filter(darkroom=room, kind=KIND, subject=subject).exists():
        return
    text = (
        f"Batch {batch.code} is used up, and {millilitres(missing)} mL of its {millilitres(had)} mL are unaccounted "
        "for. Look for pours nobody wrote down and write them down late; its balance shows where the rest went."
    )
    notice.post_locked(
        work, kind=KIND, subject=subject, text=text, path=f"batches/{batch.public_id}", to_roles=(Role.TECHNICIAN,)
    )
