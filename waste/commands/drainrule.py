"""The darkroom's drain rule: what the sewer's keeper allows, version by version."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from accounts.acts import Act
from accounts.commands.entry import Work, command
from darkroom_service.localday import day_of
from darkroom_service.refusal import Malformed
from waste.models import DrainRule, Stream
from waste.science.drain import Allowed, Limit


@command(Act.DRAIN_RULE_EDIT)
def write(
    work: Work, /, *, streams: Sequence[str], ph_low: Decimal, ph_high: Decimal, valid_from: date | None = None,
    valid_until: date | None = None, limits: Sequence[dict[str, Any]] = (), **given: Any,
) -> DrainRule:  # fmt: skip
    """Write a new version of the rule, in force from a day on (today unless told); a rule of no streams allows none.

    ``given``: approved_by, reference, daily_volume (0.1 mL), dilution (times the volume), note.
    """
    known = set(Stream.objects.filter(darkroom=work.darkroom).values_list("code", flat=True))
    for index, code in enumerate(streams):
        if code not in known:
            words = f"No stream of this darkroom has that code. There are: {', '.join(sorted(known)) or 'none yet'}."
            raise Malformed("stream.unknown", words, pointer=f"/streams/{index}")
    since = valid_from or day_of(work.recorded_at, work.darkroom.zone)
    if ph_low > ph_high:
        raise Malformed("ph.backwards", "The lower pH is not above the higher one.", pointer="/ph_low")
    if valid_until is not None and valid_until < since:
        raise Malformed("time.impossible", "It ends before it begins.", pointer="/valid_until")
    last = DrainRule.objects.filter(darkroom=work.darkroom).order_by("-number").first()
    rows = [{"cas": each["cas"], "name": each["name"], "mg_per_l": f"{each['mg_per_l']:f}"} for each in limits]
    return DrainRule.objects.create(
        darkroom=work.darkroom, number=last.number + 1 if last else 1, streams=list(streams), ph_low=ph_low,
        ph_high=ph_high, limits=rows, valid_from=since, valid_until=valid_until, by=work.by,
        entry_id=work.entry_id, **given,
    )  # fmt: skip


def allowed(rule: DrainRule) -> Allowed:
    """Return a rule as the pure rules read it."""
    limits = tuple(Limit(each["cas"], each["name"], Decimal(each["mg_per_l"])) for each in rule.limits)
    streams = tuple(rule.streams)
    return Allowed(streams, rule.daily_volume, rule.ph_low, rule.ph_high, rule.dilution, limits)
