"""The weekly look at a container: what was found, and who is told of what was not in order."""

from accounts.acts import Act, Role
from accounts.commands import notice
from accounts.commands.entry import Work, command
from darkroom_service.refusal import Malformed
from waste.commands.container import found_locked
from waste.models import Container, Inspection

WRONG = {
    "lid": "its lid is not shut",
    "leak": "it leaks",
    "label": "its label cannot be read",
    "bund": "its bund is not dry and sound",
}


@command(Act.CONTAINER_INSPECT)
def record(
    work: Work, container: Container, *, lid: bool, leak: bool, label: bool, bund: bool, note: str = ""
) -> Inspection:
    """Write down a look at a container; True is in order. What is not is told to the technicians at once."""
    container = found_locked(work, container)
    if work.occurred_at < container.opened_at:
        words = "This container was not in use yet at that time. Give the time it was looked at."
        raise Malformed("time.impossible", words, pointer="/occurred_at")
    row = Inspection.objects.create(
        container=container, lid=lid, leak=leak, label=label, bund=bund, note=note, by=work.by,
        entry_id=work.entry_id, occurred_at=work.occurred_at,
    )  # fmt: skip
    if not row.sound:
        _tell(work, row)
    return row


def faults(row: Inspection) -> list[str]:
    """Return what was not in order, in words."""
    return [words for name, words in WRONG.items() if not getattr(row, name)]


def _tell(work: Work, row: Inspection) -> None:
    held = row.container
    note = f" {row.note}" if row.note else ""
    notice.post_locked(
        work,
        kind="container-unsound",
        subject=f"container:{held.public_id}",
        text=(
            f"{held.name} ({held.code}) was looked at: {', '.join(faults(row))}.{note} Gloves and eye protection on;"
            " stand it in a sound tray, and call the contractor where it leaks more than drops."
        ),
        path=f"containers/{held.public_id}",
        to_roles=(Role.TECHNICIAN,),
        safety=not row.leak,
    )
