"""A pickup of the demo's spent fixer: planned, prepared, confirmed by somebody else, its receipt attached."""

import hashlib
from datetime import timedelta

from darkroom_service.demo.stage import ZONE, Stage, found
from darkroom_service.localday import day_of
from waste.commands import confirming, document, pickup
from waste.commands.pickup import Item
from waste.models import Pickup, Way

RECEIPT = b"Weir & Low Carriers, receipt N-2041\r\nfixer solutions, 1 container, road\r\n"


def collect(stage: Stage) -> None:
    """Let the carrier fetch the spent fixer, leaving the container here."""
    today = day_of(stage.now, ZONE)
    planned = stage.act(
        "technician", pickup.plan, way=Way.COLLECTION, planned_for=today + timedelta(days=1),
        items=[Item(stage.things["fixer waste"], stays=True)], carrier="Weir & Low Carriers",
        carrier_authorisation="CB-4471", destination="Holm treatment works", destination_authorisation="P-92",
        document_number="N-2041", transport="road", treatment="R4 silver recovery", frequency="each term",
    )  # fmt: skip
    stage.act("technician", pickup.prepare, found(Pickup, planned))
    stage.act("technician-two", confirming.confirm, found(Pickup, planned))
    digest = hashlib.sha256(RECEIPT).hexdigest()
    stage.act("admin", document.attach, found(Pickup, planned), name="receipt-N-2041.txt", data=RECEIPT, sha256=digest)
    stage.things["pickup"] = planned
