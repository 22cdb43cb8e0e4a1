"""A class prints: trays filled once for the group, sheets tallied as they come, everything poured away at the end."""

from chemistry.commands import tally, traysession
from chemistry.commands.tray import Emptying, Filling
from chemistry.models import TraySession
from darkroom_service.demo import stores
from darkroom_service.demo.stage import Stage, found
from darkroom_service.demo.stores import mls

TRAY_ML = 1500
# role: (tray, where it is filled from, dilution, where it goes)
TRAYS = {
    "developer": ("developer tray", "mq-carbonate drum", "1+2", "bw-developer"),
    "stop": ("stop tray", "stop-acetic concentrate", "1+20", "stop-bath"),
    "fixer_1": ("fixer tray", "rapid-fixer concentrate", "1+9", "fixer"),
}
# who prints, sheet, how many
SHEETS = (
    ("pupil-one", "paper-5x7", 6), ("pupil-two", "paper-24x30cm", 2), ("pupil-three", "paper-8x10", 3),
    ("member", "paper-8x10", 2),
)  # fmt: skip


def set_out(stage: Stage) -> None:
    """Put the trays on the bench, once."""
    for tray, *_ in TRAYS.values():
        stores.bottle(stage, tray, 2000, "tray")


def print_together(stage: Stage) -> None:
    """One session from filling to emptying."""
    trays = [
        Filling(role, stage.things[tray], stage.things[source], mls(TRAY_ML), dilution)
        for role, (tray, source, dilution, _) in TRAYS.items()
    ]
    session = stage.act("instructor", traysession.open, group="Class 9b, first prints", trays=trays)
    for who, sheet, count in SHEETS:
        stage.act(who, tally.create, found(TraySession, session), format=sheet, count=count)
    away = [Emptying(role, container=stage.things[f"{waste} waste"]) for role, (*_, waste) in TRAYS.items()]
    stage.act("instructor", traysession.close, found(TraySession, session), trays=away)
