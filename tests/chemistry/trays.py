"""Paper trays for tests: sources, empty trays, a paper line with containers, and bodies of requests."""

from datetime import datetime
from typing import Any

from accounts.models import Darkroom, Membership
from chemistry.commands import line as lines
from chemistry.commands import tally, traysession
from chemistry.commands.tray import Filling
from chemistry.models import Line, Tally, TraySession, Vessel
from tests.chemistry import brew
from tests.chemistry.bench import ml, quantity
from tests.waste import pail

STREAMS = {"developer": "bw-developer", "stop": "stop-bath", "fixer_1": "fixer", "washing_aid": "rinse"}
# Role -> formula and the strength its tray has, as the starter formulas give it for paper.
PAPER = {"developer": ("mq-carbonate", "1+2"), "stop": ("stop-acetic", "1+20"), "fixer_1": ("rapid-fixer", "1+4")}


def tray(room: Darkroom, size: str = "3000") -> Vessel:
    """Return an empty tray."""
    return brew.bottle(room, size, material="tray", name=f"tray {next(brew._numbers)}")


def source(room: Darkroom, role: str = "developer", *, at: datetime | None = None) -> Vessel:
    """Return what a tray of that role is made from: paper developer stock, or an opened concentrate."""
    code, _ = PAPER[role]
    if role == "developer":
        return brew.filled(room, code, "2000", at=at)
    return brew.concentrate(room, code, at=at)


def line(room: Darkroom, **baths: Vessel) -> Line:
    """Return a paper line of these vessels, each step with a waste container of its own."""
    technician = brew.staff(room)
    cans = {role: pail.can(technician, STREAMS[role], rated="20000").public_id for role in baths}
    steps = [{"role": role, "vessel": bath.public_id, "container": cans[role]} for role, bath in baths.items()]
    given = {"name": f"paper {next(brew._numbers)}", "process": "bw", "film_or_paper": "paper"}
    return brew.do(lines.create, technician, steps=steps, **given)


def body(*filled: dict[str, Any], **more: Any) -> dict[str, Any]:
    """Return the body that opens a session."""
    return {"group": "Evening course", "trays": list(filled), **more}


def filling(into: Vessel, of: Vessel, volume: str = "2000", *, role: str = "developer", **more: Any) -> dict[str, Any]:
    """Return the part of a body about one tray, at the strength of its role unless told otherwise."""
    told = {"role": role, "tray": str(into.public_id), "source": str(of.public_id), "volume": quantity(volume)}
    return {**told, "dilution": PAPER.get(role, PAPER["fixer_1"])[1], **more}


def opened(
    room: Darkroom, into: Vessel, of: Vessel, volume: str = "2000", *, role: str = "developer",
    who: Membership | None = None, through: Line | None = None, at: datetime | None = None,
) -> TraySession:  # fmt: skip
    """Return a session of one tray, opened by the command."""
    told = Filling(role, into.public_id, of.public_id, ml(volume), PAPER[role][1])
    given = {"group": "Evening course", "trays": [told], "line": through and through.public_id}
    return brew.do(traysession.open, who or brew.staff(room), at=at, **given)


def tallied(
    session: TraySession, who: Membership, count: int = 4, format: str = "paper-8x10", *, at: datetime | None = None
) -> Tally:
    """Return so many sheets put through a session's trays."""
    return brew.do(tally.create, who, session, format=format, count=count, at=at)
