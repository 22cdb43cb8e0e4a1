"""What is coming of chemistry: the last days of shared vessels and of one's own bottles."""

from datetime import date

from django.db.models import Q

from accounts.acts import Act
from accounts.commands.coming import MOST, Coming, may, today
from accounts.models import Membership
from chemistry.models import Batch, Vessel, VesselState

TRUSTED = (VesselState.WAITING, VesselState.READY, VesselState.TEST_FIRST)


def vessels(member: Membership) -> list[Coming]:
    """Return until when vessels are trusted, today or later. What others own is named after them and stays out."""
    if not may(member, Act.VESSEL_READ):
        return []
    rows = Vessel.objects.with_contents().filter(
        Q(owner=None) | Q(owner=member),
        darkroom=member.darkroom, contents__gt=0, state__in=TRUSTED, use_by__gte=today(member),
    )  # fmt: skip
    shown = rows.order_by("use_by", "id")[:MOST]
    return [_last_day(row, row.batch, row.use_by, member) for row in shown if row.batch and row.use_by]


def _last_day(row: Vessel, batch: Batch, day: date, member: Membership) -> Coming:
    what = "Control strip due" if row.use == "replenished" else "Last day"
    return Coming(
        str(row.public_id),
        day,
        f"{what}: {batch.formula_version.formula.name} ({row.code})",
        f"vessels/{row.public_id}",
        row.filled_at or member.darkroom.created_at,
        sequence=row.version,
        instead_of="vessel-near-expiry",
    )
