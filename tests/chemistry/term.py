"""A short term in a darkroom, lived through the commands alone: film, paper, late entries, reversals, loss, waste."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from accounts.acts import Role
from accounts.models import Darkroom, Membership
from chemistry.commands import checkin, level, plan, tally, transfer, traysession
from chemistry.commands.plan import Wanted
from chemistry.commands.report import Report
from chemistry.commands.run import Film, Loading
from chemistry.commands.tray import Emptying, Filling
from chemistry.models import Line, TransferKind, Vessel
from darkroom_service import clock
from tests import make
from tests.chemistry import bench, brew, trays
from tests.chemistry.bench import ml
from tests.waste import pail
from waste.models import Container, Fill

START = datetime(2026, 3, 2, 12, tzinfo=UTC)


@dataclass
class Term:
    """What there is at the end of it; ``bath`` is stock for one-shot tanks, ``flask`` the same in reuse."""

    room: Darkroom
    ada: Membership
    bo: Membership
    cy: Membership
    line: Line
    bath: Vessel
    flask: Vessel
    can: Container
    by_hand: Fill
    made: dict[str, Any]

    def __getattr__(self, name: str) -> Any:
        return self.__dict__["made"][name]


@contextmanager
def on(day: int, hours: float = 0) -> Iterator[datetime]:
    """Hold the clock at so many days and hours after the start."""
    with clock.fixed(START + timedelta(days=day, hours=hours)) as at:
        yield at


def lived() -> Term:
    """Live the term and return it."""
    with on(-40):
        founder = make.room()
        bo, _ = (make.member(founder, Role.TECHNICIAN) for _ in range(2))
        cy, ada = make.member(founder, Role.INSTRUCTOR), make.member(founder)
        make.first_holder(founder, cy)
        for each in (bo, ada):
            make.signed_off(cy, each)
        room, can = founder.darkroom, pail.can(bo, "bw-developer", rated="20000")
        by_hand = pail.poured(bo, can, "120")
    with on(0) as at:
        bath = bench.developer(room, at=at)
        line, flask = bench.line(room, bath, full=True, cans=True), brew.bottle(room, "1000")
    term = Term(room, ada, bo, cy, line, bath, flask, can, by_hand, {})
    _film(term)
    _paper(term)
    return term


def _film(term: Term) -> None:
    """Develop a planned one-shot tank and two of reused stock, one of them taken back; lose and find liquid."""
    ada, bo, line, made = term.ada, term.bo, term.line.public_id, term.made
    loading = Loading((Film("135-36", 1),), ml("500"), "one_shot", "1+1")
    with on(1):
        wanted = Wanted(line, loading, term.bath.public_id, hold=True)
        made["plan"] = brew.do(plan.create, ada, wanted=wanted)
        made["one_shot"] = brew.do(checkin.create, ada, report=Report(plan=made["plan"].public_id)).check_in
        stock = brew.drum_of(term.bath.batch)
        given = {"source": stock.public_id, "target": term.flask.public_id, "volume": ml("1000")}
        made["decant"] = brew.do(transfer.decant, bo, **given)
    reused = {"films": loading.films, "tank": ml("500"), "use": "reuse", "dilution": "stock"}
    report = Report(line=line, vessel=term.flask.public_id, **reused)
    with on(2):
        made["reuse"] = brew.do(checkin.create, ada, report=report).check_in
        made["undone"] = brew.do(checkin.create, ada, report=report).check_in
        brew.do(checkin.reverse, ada, made["undone"], reason="entered twice")
    with on(3):
        brew.do(level.read, ada, term.flask, measured=ml("960"))
        brew.do(transfer.create, ada, kind=TransferKind.SPILL, source=term.flask.public_id, volume=ml("40"))
        report = Report(line=line, vessel=term.flask.public_id, poured_back=ml("400"), **reused)
        made["late"] = brew.do(checkin.create, ada, report=report, at=START + timedelta(days=2, hours=9)).check_in
        empty = {"source": stock.public_id, "container": term.can.public_id, "volume": ml("250")}
        made["emptied"] = brew.do(transfer.empty, bo, **empty)
        brew.do(level.read, bo, stock, measured=0)


def _paper(term: Term) -> None:
    """Print an evening in two trays, with a tally taken back and one told late; one tray is kept, one poured away."""
    room, ada, bo, made = term.room, term.ada, term.bo, term.made
    with on(4) as at:
        sources = [trays.source(room, role, at=at) for role in ("developer", "fixer_1")]
        pans, kept = [trays.tray(room) for _ in sources], brew.bottle(room, "2500")
        told = [
            Filling(role, pan.public_id, source.public_id, ml("2000"), trays.PAPER[role][1])
            for role, pan, source in zip(("developer", "fixer_1"), pans, sources, strict=True)
        ]
        made["session"] = brew.do(traysession.open, ada, group="Evening course", trays=told)
    with on(4, 2):
        made["printed"] = trays.tallied(made["session"], ada, 12)
        made["unprinted"] = trays.tallied(made["session"], bo, 3)
        brew.do(tally.reverse, bo, made["unprinted"], reason="they were test strips")
    with on(4, 4):
        gone = [Emptying("fixer_1", vessel=kept.public_id), Emptying("developer", container=term.can.public_id)]
        brew.do(traysession.close, ada, made["session"], trays=gone)
    with on(5):
        made["late_print"] = trays.tallied(made["session"], ada, 2, at=START + timedelta(days=4, hours=3))
    made |= {"pans": pans, "kept": kept}
