"""One's own wishes about mail."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db.models import F

from accounts.acts import Act
from accounts.commands.entry import Work, command
from accounts.models import Mailing, Membership, Preference
from darkroom_service.refusal import Malformed

EDITABLE = frozenset({"mail", "digest_hour", "quiet_from", "quiet_until"})


def of(member: Membership) -> Preference:
    """Return a member's wishes; where none were ever said, what goes without saying."""
    return Preference.objects.filter(membership=member).first() or Preference(membership=member)


def reachable(member: Membership) -> bool:
    """Tell whether mail can reach somebody at all; it is optional, and pupils often have no address."""
    return bool(settings.MAIL_READY and member.person.email)


@command(Act.PREFERENCE_EDIT)
def edit(work: Work, changes: dict[str, Any], *, unchanged: Callable[[int], None]) -> Preference:
    """Change one's own wishes. ``unchanged`` is given the version found under the lock."""
    wishes = of(work.by)
    unchanged(wishes.version)
    for name in EDITABLE & changes.keys():
        setattr(wishes, name, changes[name])
    if (wishes.quiet_from is None) != (wishes.quiet_until is None):
        words = "Quiet hours have a beginning and an end. Give both, or neither."
        raise Malformed("quiet.half", words, pointer="/quiet_until")
    wishes.version += 1
    wishes.save()
    return wishes


def mute(membership: UUID) -> None:
    """End somebody's mail, except of safety, by the signed link in a mail. One row and no key: again does no harm."""
    member = Membership.objects.filter(public_id=membership).first()
    if member is None:
        return
    row, made = Preference.objects.get_or_create(membership=member, defaults={"mail": Mailing.OFF})
    if not made and row.mail != Mailing.OFF:
        Preference.objects.filter(pk=row.pk).update(mail=Mailing.OFF, version=F("version") + 1)
