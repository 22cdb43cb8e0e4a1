"""What is bought, mixed, diluted and set up before the first film."""

from decimal import Decimal
from uuid import UUID

from chemistry.commands import batch, bathtest, line, mixing, pack, starter, transfer, vessel
from chemistry.models import Batch, Transfer
from chemistry.models import Formula as FormulaRow
from darkroom_service.demo.stage import Stage, found
from darkroom_service.quantity import tenths
from waste.commands import container, stream
from waste.models import ContainerMaterial

FORMULAS = ("mq-borax", "mq-carbonate", "stop-acetic", "rapid-fixer", "washing-aid")
SUPPLIER = "Orrin & Fell, school supplies"
# formula: (packs, what each makes or holds in mL, price in cents, lot)
BOUGHT = {
    "mq-borax": (3, 3800, 1200, "A117"),
    "mq-carbonate": (2, 3800, 1100, "C052"),
    "stop-acetic": (1, 1000, 700, "S9"),
    "rapid-fixer": (4, 1000, 950, "F31"),
    "washing-aid": (4, 4000, 600, "W4"),
}
STREAMS = ("bw-developer", "fixer", "stop-bath", "rinse")
BOTTLES = ("bottle A", "bottle B", "bottle C", "bottle D")
BATHS = {"film stop": "stop-acetic", "film fixer one": "rapid-fixer", "film fixer two": "rapid-fixer"}
STRENGTHS = {"stop-acetic": "1+20", "rapid-fixer": "1+4"}
BATH_ML = 2000
WATER = {"washing-aid": Decimal(26)}
LEADER = "leader of a 400 film from the test tin"


def mls(amount: str | int) -> int:
    """Return millilitres as the ledger counts them."""
    return tenths(Decimal(amount))


def titled(name: str) -> str:
    """Return a name as a label has it: bottle A is Bottle A."""
    return name[:1].upper() + name[1:]


def stock_up(stage: Stage) -> None:
    """Publish the formulas, receive the packs, set up the waste containers."""
    stage.day(2, "14:00")
    stage.acted("instructor", starter.copy_starter, codes=list(FORMULAS))
    for code, (pieces, makes, price, lot) in BOUGHT.items():
        stage.things[code] = _formula(stage, code)
        received = stage.acted(
            "technician", pack.receive, formula=stage.things[code], makes=mls(makes), price_minor=price, pieces=pieces,
            lot=lot, supplier=SUPPLIER,
        )  # fmt: skip
        stage.things |= {f"{code} pack {number}": each for number, each in enumerate(received, 1)}
    for code in STREAMS:
        kept = stage.act("technician", stream.create, code=code)
        stage.things[f"{code} waste"] = stage.act(
            "technician", container.create, stream=kept, name=f"{code.replace('-', ' ').capitalize()} waste",
            material=ContainerMaterial.HDPE, rated=mls(10000), location="under the wet bench",
        )  # fmt: skip


def mix_all(stage: Stage) -> None:
    """Mix the powders, let them rest, test and release them."""
    mixed = {}
    for number, (code, nominal, made) in enumerate(
        (("mq-borax", 5000, 3800), ("mq-carbonate", 5000, 3800), ("washing-aid", 5000, 4000))
    ):
        stage.day(3 + number, "15:00")
        mixed[code] = mix(stage, code, nominal, made)
    stage.day(6, "16:30")
    split(stage)
    for code, mixing_event in mixed.items():
        if code != "washing-aid":
            strip = stage.things["bottle A" if code == "mq-borax" else f"{code} drum"]
            stage.act("technician-two", bathtest.record, vessel=strip, for_release=True, density=Decimal("1.30"))
        stage.act("technician-two", batch.release, found(Batch, mixing_event))
    pour_out(stage)


def mix(stage: Stage, code: str, nominal: int, made: int, packet: int = 1) -> UUID:
    """Request, approve and mix a packet whole, by three acts of two people."""
    packs = [stage.things[f"{code} pack {packet}"]]
    wanted = stage.act("technician", batch.request, formula=stage.things[code], packs=packs)
    stage.act("technician-two", batch.approve, found(Batch, wanted))
    drum = stage.act(
        "technician", vessel.create, name=f"{code} drum {packet}", nominal=mls(nominal), material="hdpe"
    )  # fmt: skip
    stage.things |= {f"{code} drum": drum, f"{code} drum {packet}": drum}
    stage.act("technician", mixing.start, found(Batch, wanted), water_c=WATER.get(code, Decimal(52)))
    stage.act("technician", mixing.finish, found(Batch, wanted), vessel=drum, made=mls(made))
    return wanted


def split(stage: Stage) -> None:
    """Decant the rested developer into four bottles of known size and material, as full as they go."""
    for name in BOTTLES:
        material = "hdpe" if name == "bottle D" else "glass"
        bottle(stage, name, 946, material)
        pour(stage, "mq-borax drum", name, 946)
    empty(stage, "mq-borax drum", "bw-developer")


def pour_out(stage: Stage) -> None:
    """Open the concentrates and make the working baths of the film line."""
    for code in STRENGTHS:
        open_pack(stage, code, 1)
    for name, code in BATHS.items():
        bottle(stage, name, BATH_ML)
        dilute(stage, code, name)
    bottle(stage, "film washing aid", BATH_ML)
    pour(stage, "washing-aid drum", "film washing aid", BATH_ML)
    for name in ("film fixer one", "film fixer two"):
        stage.act("technician", bathtest.record, vessel=stage.things[name], for_release=True, seconds=40, film=LEADER)


def open_pack(stage: Stage, code: str, number: int) -> None:
    """Open a bottle of concentrate, which makes it a vessel."""
    name = f"{code} concentrate {number}"
    opened = stage.act("technician", transfer.open, pack=stage.things[f"{code} pack {number}"], name=titled(name))
    bottles = Transfer.objects.values_list("target__public_id", flat=True)
    stage.things[f"{code} concentrate"] = bottles.get(public_id=opened)


def lay_lines(stage: Stage) -> None:
    """Set up the film line, for fresh developer and for reused."""
    for name, bottle in (("film line", "bottle A"), ("film line, reuse", "bottle C")):
        steps = [
            _step(stage, "developer", bottle, "bw-developer"),
            _step(stage, "stop", "film stop", "stop-bath"),
            _step(stage, "fixer_1", "film fixer one", "fixer"),
            _step(stage, "fixer_2", "film fixer two", "fixer"),
            _step(stage, "washing_aid", "film washing aid", "rinse"),
        ]
        stage.things[name] = stage.act(
            "technician", line.create, name=titled(name), process="bw", film_or_paper="film", steps=steps
        )


def _step(stage: Stage, role: str, bottle: str, waste: str) -> dict[str, object]:
    return {"role": role, "vessel": stage.things[bottle], "container": stage.things[f"{waste} waste"]}


def _formula(stage: Stage, code: str) -> UUID:
    return FormulaRow.objects.get(darkroom=stage.darkroom_id, code=code).public_id


def bottle(stage: Stage, name: str, ml: int, material: str = "glass") -> None:
    """Put an empty, labelled vessel on the shelf."""
    stage.things[name] = stage.act(
        "technician", vessel.create, name=titled(name), nominal=mls(ml), material=material
    )  # fmt: skip


def pour(stage: Stage, source: str, target: str, ml: int) -> None:
    """Decant from one vessel into another."""
    stage.act(
        "technician", transfer.decant, source=stage.things[source], target=stage.things[target], volume=mls(ml)
    )  # fmt: skip


def dilute(stage: Stage, code: str, name: str) -> None:
    """Fill a vessel with a working bath made of concentrate."""
    stage.act(
        "technician", transfer.dilute, source=stage.things[f"{code} concentrate"], target=stage.things[name],
        volume=mls(BATH_ML), dilution=STRENGTHS[code],
    )  # fmt: skip


def empty(stage: Stage, name: str, waste: str) -> None:
    """Pour a vessel out to waste."""
    container = stage.things[f"{waste} waste"]
    stage.act("technician", transfer.empty, source=stage.things[name], container=container)
