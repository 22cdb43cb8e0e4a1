"""What else a darkroom can hold: one of everything that an address names beyond a lived term."""

import hashlib
from datetime import timedelta
from decimal import Decimal
from typing import Any

from accounts.commands import feed
from accounts.models import Delivery
from chemistry.commands import substance, termbreak
from darkroom_service import clock
from tests import make
from tests.chemistry import brew
from tests.chemistry.bench import ml
from tests.waste import pail
from waste.commands import document, drain, drainrule, incident, pickup
from waste.commands.pickup import Item
from waste.models import Way

NOTE = b"Invented carrier, receipt 1\r\n"


def everything(who: Any) -> dict[str, Any]:
    """Make one of each, as somebody with every role, and return them by the first word of their address."""
    made: dict[str, Any] = {"waste-incidents": brew.do(incident.report, who, kind="leak", what="The tap drips.")}
    made |= _drained(who) | _collected(who)
    today = clock.now().date()
    given = {"name": "Half-term", "first_day": today + timedelta(days=9), "last_day": today + timedelta(days=16)}
    made["term-breaks"] = brew.do(termbreak.create, who, **given)
    cells = {"m_acute": {"value": "1"}}
    told = {"source": "an invented supplier's sheet", "reason": "The table has none."}
    made["substances"] = brew.do(substance.override, who, "55-55-0", cells=cells, **told)
    made["feeds"] = brew.do(feed.make, who)
    queued = {"channel": "email", "due_at": clock.now()}
    made["deliveries"] = Delivery.objects.create(notice=make.notice(who), **queued)
    return made


def _drained(who: Any) -> dict[str, Any]:
    kept = pail.kept_apart(who, "stop-bath")
    rule = brew.do(
        drainrule.write, who, approved_by="An invented office", reference="Letter", streams=["stop-bath"],
        daily_volume=ml("5000"), ph_low=Decimal(6), ph_high=Decimal(10), dilution=20,
    )  # fmt: skip
    release = brew.do(
        drain.release, who, stream=kept.public_id, text="a neutralised tray", volume=ml("100"), water=ml("5000"),
        ph=Decimal(7), happened=True,
    )  # fmt: skip
    return {"drain-rules": rule, "drain-releases": release}


def _collected(who: Any) -> dict[str, Any]:
    can = pail.can(who, "fixer")
    pail.poured(who, can)
    planned = brew.do(
        pickup.plan, who, way=Way.HANDOVER, planned_for=clock.now().date(), items=[Item(can.public_id)],
        destination="the school",
    )  # fmt: skip
    digest = hashlib.sha256(NOTE).hexdigest()
    return {
        "pickups": planned,
        "documents": brew.do(document.attach, who, planned, name="note.txt", data=NOTE, sha256=digest),
    }
