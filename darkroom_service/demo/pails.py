"""The wet bench under the play: the sewer's rule, the weekly look at the cans, a spill wiped up, an incident ended."""

from decimal import Decimal

from chemistry.commands import destination, transfer
from chemistry.models import TransferKind
from darkroom_service.demo.stage import Stage, found
from darkroom_service.demo.stores import mls
from waste.commands import container, drain, drainrule, incident, inspection, stream
from waste.models import Container, ContainerMaterial, Stream

SILVER = "7440-22-4"


def rule(stage: Stage) -> None:
    """Write down what the sewer's keeper allows, set up the bag for solids, and say where spent developer goes."""
    stage.act(
        "admin", drainrule.write, approved_by="Mirefield drainage office (invented)", reference="Letter of 3 September",
        streams=["stop-bath"], daily_volume=mls(5000), ph_low=Decimal("6.0"), ph_high=Decimal("10.0"), dilution=20,
        limits=[{"cas": SILVER, "name": "silver", "mg_per_l": Decimal(1)}],
    )  # fmt: skip
    solids = stage.act("technician", stream.create, code="contaminated-solids")
    stage.things["solids"] = stage.act(
        "technician", container.create, stream=solids, name="Solids bin", material=ContainerMaterial.HDPE,
        rated=mls(20000), location="by the door",
    )  # fmt: skip
    developer = found(Container, stage.things["bw-developer waste"]).stream.public_id
    for strength in ("1+1", "1+3"):
        stage.act(
            "technician", destination.write, formula=stage.things["mq-borax"], dilution=strength, stream=developer
        )  # fmt: skip


def look_round(stage: Stage) -> None:
    """Look at every can, as each week."""
    for code in ("bw-developer", "stop-bath", "fixer"):
        can = found(Container, stage.things[f"{code} waste"])
        stage.act("technician", inspection.record, can, lid=True, leak=True, label=True, bund=True)


def mishap(stage: Stage) -> None:
    """Spill a little developer and wipe it up; let a litre of neutralised stop bath down under the rule."""
    stage.act(
        "technician", transfer.create, kind=TransferKind.SPILL, source=stage.things["bottle C"], volume=mls(50),
        mopped=mls(40), container=stage.things["solids"], absorbent="granules",
    )  # fmt: skip
    can = found(Container, stage.things["fixer waste"])
    stage.act("member", incident.report, kind="leak", what="The tap of the can drips.", container=can.public_id)
    stage.act("technician", container.clear, can, reason="Tap tightened, tray under the can wiped dry.")
    kept = Stream.objects.get(darkroom=stage.darkroom_id, code="stop-bath").public_id
    stage.act(
        "technician", drain.release, stream=kept, text="a tray of stop bath, neutralised with bicarbonate",
        volume=mls(1000), water=mls(19000), ph=Decimal("7.2"), happened=False,
        figures=[{"cas": SILVER, "mg_per_l": Decimal("0.8")}],
    )  # fmt: skip
