"""Telling the technicians which rules a report broke."""

from collections.abc import Iterable

from accounts.acts import Role
from accounts.commands import notice
from accounts.commands.entry import Work
from chemistry.commands.flagtext import worded

# They explain the record, and nobody need do anything.
QUIET = frozenset({"vessel.level_known", "vessel.refilled"})


def flagged_locked(work: Work, flags: Iterable[str], *, subject: str, path: str, what: str) -> None:
    """Put a notice of the flags worth acting on into the technicians' inboxes."""
    told = [each["text"] for each in worded(flags) if each["code"] not in QUIET]
    if told:
        text = f"{what}: {' '.join(told)}"
        notice.post_locked(
            work, kind="report-flagged", subject=subject, text=text, path=path, to_roles=(Role.TECHNICIAN,)
        )
