"""What is coming of waste: pickups, for those who may read them."""

from accounts.acts import Act
from accounts.commands.coming import MOST, Coming, may, today
from accounts.models import Membership
from waste.models.pickup import OPEN_STATES, Pickup


def pickups(member: Membership) -> list[Coming]:
    """Return the pickups planned for today or later; who planned them and who carries them stays out."""
    if not may(member, Act.PICKUP_READ):
        return []
    rows = Pickup.objects.filter(darkroom=member.darkroom, state__in=OPEN_STATES, planned_for__gte=today(member))
    return [
        Coming(
            str(row.public_id),
            row.planned_for,
            f"Waste pickup {row.code}",
            f"pickups/{row.public_id}",
            member.darkroom.created_at,
            sequence=row.version,
            instead_of="pickup-due",
        )
        for row in rows.order_by("planned_for", "id")[:MOST]
    ]
