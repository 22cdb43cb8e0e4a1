"""Taking a pour or a release back: who may."""

from accounts.acts import Role
from accounts.commands.entry import Work
from accounts.models import Entry
from darkroom_service.refusal import NotAllowed


def judge_asker(work: Work, entry: Entry) -> None:
    """Refuse to take back what somebody else entered, but to a technician or an instructor."""
    if work.by.pk not in {entry.by_id, entry.on_behalf_of_id} and not work.by.holds(Role.TECHNICIAN, Role.INSTRUCTOR):
        words = "Only who entered it takes it back, or a technician or an instructor. Ask one of them."
        raise NotAllowed("act.forbidden", words, roles=[Role.INSTRUCTOR.value, Role.TECHNICIAN.value])
