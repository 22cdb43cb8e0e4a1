"""Do sign-offs and roles hold: nobody signed off by themselves, no role without the row that gave it?"""

from collections.abc import Iterator

from django.db.models import BooleanField, Exists, F, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce

from accounts.acts import Role
from accounts.models import Membership, RoleChange, SignOff
from accounts.models.signoff import later_versions


def differences(darkroom_id: int | None = None) -> Iterator[str]:
    """Yield a line for each sign-off by nobody entitled, and each role that its record does not bear out."""
    sign_offs, members = SignOff.objects.all(), Membership.objects.all()
    if darkroom_id is not None:
        sign_offs, members = sign_offs.filter(topic__darkroom=darkroom_id), members.filter(darkroom=darkroom_id)
    for row in sign_offs.filter(trainee=F("signer")).order_by("pk"):
        yield f"sign-off {row.public_id}: is signed by its own trainee"
    for row in sign_offs.filter(~Exists(_of_signer()), outside_training=False).order_by("pk"):
        yield f"sign-off {row.public_id}: its signer did not hold the topic then"
    for role in Role:
        last = RoleChange.objects.filter(membership=OuterRef("pk"), role=role).order_by("-at", "-id").values("held")[:1]
        recorded = Coalesce(Subquery(last), False, output_field=BooleanField())
        for member in members.annotate(recorded=recorded).exclude(recorded=F(f"is_{role.value}")).order_by("pk"):
            yield f"member {member.public_id}: the role {role} is not what its last change says"


def _of_signer() -> QuerySet[SignOff]:
    """Keep what the signer of a sign-off held in its topic when it was written."""
    at = OuterRef("entry__recorded_at")
    held = SignOff.objects.filter(Q(revocation=None) | Q(revocation__at__gt=at), valid_from__lte=at, expires_at__gt=at)
    held = held.filter(~Exists(later_versions().filter(stale_from__lte=OuterRef(at))))
    return held.filter(trainee=OuterRef("signer"), topic=OuterRef("topic"), entry__lt=OuterRef("entry"))
