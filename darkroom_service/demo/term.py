"""Ten weeks of use: films, a bottle that ages, one that fails, a late sheet, a mistake taken back."""

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import Any

from chemistry.commands import batch, bathtest, checkin, level, promotion
from chemistry.commands.report import Report
from chemistry.commands.run import Film
from chemistry.models import Batch, CheckIn, Vessel
from chemistry.science.tank import Conditions
from darkroom_service.demo import collecting, printing, stores
from darkroom_service.demo.stage import Stage, found
from darkroom_service.demo.stores import mls

# day, who, line, developer bottle, rolls of 135-36, tank in mL, use, dilution
FILMS = (
    (8, "member", "film line", "bottle A", 1, 600, "one_shot", "1+1"),
    (10, "member", "film line, reuse", "bottle C", 1, 300, "reuse", "stock"),
    (13, "pupil-one", "film line", "bottle A", 1, 473, "one_shot", "1+1"),
    (15, "pupil-two", "film line", "bottle B", 1, 1000, "one_shot", "1+3"),
    (17, "member", "film line, reuse", "bottle C", 2, 600, "reuse", "stock"),
    (22, "pupil-three", "film line", "bottle B", 1, 1000, "one_shot", "1+3"),
    (24, "member", "film line, reuse", "bottle C", 1, 300, "reuse", "stock"),
    (29, "pupil-one", "film line", "bottle B", 1, 1000, "one_shot", "1+3"),
    (31, "pupil-two", "film line, reuse", "bottle C", 2, 600, "reuse", "stock"),
    (45, "member", "film line, reuse", "bottle C", 1, 300, "reuse", "stock"),
)


def play(stage: Stage) -> None:
    """Play the term day by day."""
    happenings: dict[int, Callable[[Stage], None]] = {
        20: _print, 21: _test_often, 28: _test_often, 30: _dregs, 34: _renew, 36: _level, 37: _late_sheet,
        46: _entered_twice, 47: _open_fixer, 48: _print, 50: _promote, 52: collecting.collect, 60: _fails,
        66: _ask_for_more, 67: _test_shelf, 68: _renew, 69: _extend,
    }  # fmt: skip
    films = {day: (who, told) for day, who, *told in FILMS}
    for day in sorted(happenings | films):
        stage.day(day)
        if day in films:
            check_in(stage, *films[day])
        if day in happenings:
            happenings[day](stage)


def check_in(stage: Stage, who: str, tank_told: Sequence[Any]) -> None:
    """Let somebody check a tank in, told as in ``FILMS``; longer times are given where a bath is used again."""
    line, bottle, rolls, tank, use, dilution = tank_told
    told = Report(
        line=stage.things[line], vessel=stage.things[bottle], films=(Film("135-36", rolls),), tank=mls(tank), use=use,
        dilution=dilution, compensate=use == "reuse",
        conditions=Conditions(base_min=Decimal(9), temperature_c=Decimal(20)),
    )  # fmt: skip
    stage.act(who, checkin.create, report=told)


def _print(stage: Stage) -> None:
    """A class prints."""
    if printing.TRAYS["developer"][0] not in stage.things:
        printing.set_out(stage)
    printing.print_together(stage)


def _test_often(stage: Stage) -> None:
    """Bottle B stands over much air: its strip still matches."""
    stage.act("technician", bathtest.record, vessel=stage.things["bottle B"], density=Decimal("1.28"), matches=True)


def _dregs(stage: Stage) -> None:
    """The last of bottle B is poured away."""
    stores.empty(stage, "bottle B", "bw-developer")


def _renew(stage: Stage) -> None:
    """The stop bath and the washing aid have had their month: they go to waste and are made anew."""
    stores.empty(stage, "film stop", "stop-bath")
    stores.dilute(stage, "stop-acetic", "film stop")
    for spent in ("film washing aid", "washing-aid drum"):
        stores.empty(stage, spent, "rinse")
    made = stores.mix(stage, "washing-aid", 5000, 4000, packet=2 if "washing-aid drum 2" not in stage.things else 3)
    stage.act("technician-two", batch.release, found(Batch, made))
    stores.pour(stage, "washing-aid drum", "film washing aid", stores.BATH_ML)


def _open_fixer(stage: Stage) -> None:
    """The first bottle of fixer concentrate is nearly empty; the next is opened."""
    stores.open_pack(stage, "rapid-fixer", 2)


def _promote(stage: Stage) -> None:
    """The second fixer becomes the first, with its load and date; a new second one is made."""
    stores.bottle(stage, "film fixer three", stores.BATH_ML)
    stores.dilute(stage, "rapid-fixer", "film fixer three")
    for line in ("film line", "film line, reuse"):
        second = found(Vessel, stage.things["film fixer two"])
        third = stage.things["film fixer three"]
        stage.act("technician", promotion.promote, second, line=stage.things[line], second=third)
    stores.empty(stage, "film fixer one", "fixer")


def _level(stage: Stage) -> None:
    """Bottle A is read off: less stands in it than the record says."""
    bottle = found(Vessel, stage.things["bottle A"])
    stage.act("technician", level.read, bottle, measured=bottle.contents - mls(40))


def _late_sheet(stage: Stage) -> None:
    """A sheet from the wall log turns up a week late and is typed in for a pupil."""
    told = Report(
        line=stage.things["film line, reuse"], vessel=stage.things["bottle C"], films=(Film("120", 1),), tank=mls(600),
        use="reuse", dilution="stock", compensate=True,
    )  # fmt: skip
    late = stage.moment(30, "11:20")
    stage.act("technician", checkin.create, report=told, occurred_at=late, on_behalf_of="pupil-three")


def _entered_twice(stage: Stage) -> None:
    """A tank is entered a second time by mistake and taken back by its author."""
    check_in(stage, "member", ("film line, reuse", "bottle C", 1, 300, "reuse", "stock"))
    twice = CheckIn.objects.filter(darkroom=stage.darkroom_id).latest("pk")
    stage.act("member", checkin.reverse, twice, reason="I entered yesterday's tank a second time.")


def _fails(stage: Stage) -> None:
    """The reused bottle is tested and fails: it stops at once."""
    stage.act("technician", bathtest.record, vessel=stage.things["bottle C"], density=Decimal("1.08"), matches=False)


def _test_shelf(stage: Stage) -> None:
    """What air or the date put in doubt is tested and good: the plastic bottle, and the first fixer."""
    stage.act("technician", bathtest.record, vessel=stage.things["bottle D"], density=Decimal("1.31"), matches=True)
    fixer = stage.things["film fixer two"]
    stage.act("technician", bathtest.record, vessel=fixer, seconds=52, film=stores.LEADER)


def _ask_for_more(stage: Stage) -> None:
    """The member asks for a new batch; it waits for somebody's approval."""
    packs = [stage.things["mq-borax pack 2"]]
    stage.act("member", batch.request, formula=stage.things["mq-borax"], packs=packs)


def _extend(stage: Stage) -> None:
    """Bottle A, long part-full, is tested past its date and passes: two more weeks."""
    stage.act("technician", bathtest.record, vessel=stage.things["bottle A"], density=Decimal("1.27"), matches=True)
