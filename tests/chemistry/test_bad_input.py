"""Bad input, each with a clear error and no effect: of every table, every row is the same before and after."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from copy import deepcopy
from dataclasses import dataclass
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.apps import apps
from django.db import connection, transaction

from accounts.acts import Role
from accounts.commands import membership
from accounts.models import Membership, Notice, SignOff, Token, Topic
from chemistry.commands import mixing, plan, traysession
from chemistry.commands.run import Film, Loading
from chemistry.commands.tray import Filling
from chemistry.models import BathTest
from darkroom_service import clock
from tests import make
from tests.chemistry import bench, brew, furniture, trays
from tests.chemistry import term as terms
from tests.chemistry.bench import ml, quantity
from tests.chemistry.term import Term
from tests.test_acts import ROOMS, named

TODAY = 6  # the day of the term on which everything here is tried


def rows() -> dict[str, list[Any]]:
    """Return every row of every table of ours, but for the tokens that tests sign in with."""
    models = [each for app in ("accounts", "chemistry", "waste") for each in apps.get_app_config(app).get_models()]
    tables = {each._meta.db_table for each in models if each is not Token}
    found = {}
    with connection.cursor() as cursor:
        for table in tables:
            cursor.execute(f"SELECT * FROM {table} ORDER BY 1")
            found[table] = cursor.fetchall()
    return found


@contextmanager
def no_effect() -> Iterator[None]:
    """Insist that nothing at all is written meanwhile."""
    before = rows()
    yield
    assert rows() == before


def refused(answer: Any, status: int, code: str) -> dict[str, Any]:
    """Check that an answer is a refusal that says something, and return it."""
    told: dict[str, Any] = answer.json()
    assert (answer.status_code, told["code"]) == (status, code) if status != 400 else answer.status_code == 400, told
    assert len(told["detail"]) > 15
    return told


def faults(answer: Any) -> dict[str, tuple[str, str]]:
    """Return the code and the words of each fault in a body, by where it is."""
    told = refused(answer, 400, "")
    return {each["pointer"]: (each["code"], each["detail"]) for each in told["errors"]}


def furnished() -> Term:
    """Return a darkroom with a term behind it and, on top, one of everything that a body or an address can name."""
    term = terms.lived()
    room, bo, made = term.room, term.bo, term.made
    with terms.on(5):
        made["pack"], made["bottled"] = brew.pack(room), brew.pack(room, "rapid-fixer", "1000")
        made["approved"], made["begun"] = brew.approved_batch(room), brew.approved_batch(room)
        brew.do(mixing.start, bo, made["begun"])
        made["empty"], made["spare"], made["pan"] = brew.bottle(room, "5000"), brew.bottle(room), trays.tray(room)
        loading = Loading((Film("135-36", 1),), ml("500"), "one_shot", "1+1")
        wanted = plan.Wanted(term.line.public_id, loading, hold=True)
        made["kept"] = brew.do(plan.create, term.ada, wanted=wanted)
        made["fixers"] = [brew.working(room) for _ in range(3)]
        one, two, _ = made["fixers"]
        made["two_baths"] = brew.line(room, developer=term.bath, fixer=one, fixer_2=two)
        made["paper"] = trays.source(room)
        made["paper_line"] = trays.line(room, developer=made["paper"])
        told = Filling("developer", trays.tray(room).public_id, made["paper"].public_id, ml("1000"), "1+2")
        made["printing"] = brew.do(traysession.open, term.ada, group="Monday", trays=[told])
        made["uma"] = anybody(term)
        made["more"] = furniture.everything(made["uma"])
    return term


@pytest.fixture(scope="module")
def pair(django_db_setup: None, django_db_blocker: Any) -> Iterator[tuple[Term, Term]]:
    """Furnish two darkrooms, once; each test runs in a savepoint of its own."""
    with django_db_blocker.unblock():
        around = transaction.atomic()
        around._from_testcase = True  # as the framework's own test case does
        with around:
            yield furnished(), furnished()
            transaction.set_rollback(True)


@pytest.fixture
def ours(pair: tuple[Term, Term], db: None) -> Iterator[Term]:
    """Our darkroom, on the day."""
    with terms.on(TODAY):
        yield pair[0]


@pytest.fixture
def theirs(pair: tuple[Term, Term]) -> Term:
    """The other darkroom."""
    return pair[1]


def anybody(t: Term) -> Membership:
    """Return somebody with every role and sign-off, whom only bad input can stop."""
    di = brew.staff(t.room, Role.ADMIN)
    everybody = make.member(di, Role.TECHNICIAN, Role.INSTRUCTOR, name="Uma Uhl")
    membership.edit(make.ask(di), everybody, unchanged=lambda _: None, roles=frozenset(Role))
    make.signed_off(t.cy, everybody)
    return make.refreshed(everybody)


@pytest.fixture
def client(ours: Term, client_for: Any) -> Any:
    return client_for(ours.uma)


# What a good request looks like: its address and its body, with every id and every amount it can hold


def one_tank(t: Term) -> dict[str, Any]:
    return {"films": [{"format": "135-36", "count": 1}], "tank": quantity("500"), "use": "one_shot", "dilution": "1+1"}


@dataclass(frozen=True)
class Good:
    """A request that works."""

    address: Callable[[Term], str]
    body: Callable[[Term], dict[str, Any]]


def at(path: str) -> Callable[[Term], str]:
    """Return the address of a thing of the term, named by its place in it, such as ``vessels/flask/level``."""

    def address(t: Term) -> str:
        things = {**t.made, "bath": t.bath, "flask": t.flask}
        return "/".join(str(things[part].public_id) if part in things else part for part in path.split("/"))

    return address


def ids(t: Term, **named: Any) -> dict[str, str]:
    return {name: str(row.public_id) for name, row in named.items()}


def formula(t: Term) -> Any:
    return t.bath.batch.formula_version.formula


GOOD = {
    "receive packs": Good(at("packs"), lambda t: {
        **ids(t, formula=formula(t)), "makes": quantity("3800"), "count": 2,
        "price": {"minor": 1200, "currency": "EUR"},
    }),
    "request a batch": Good(at("batches"), lambda t: {**ids(t, formula=formula(t)), "packs": [str(t.pack.public_id)]}),
    "find a batch": Good(at("batches/found"), lambda t: {
        **ids(t, formula=formula(t), vessel=t.empty, mixed_by=t.bo), "packs": [str(t.pack.public_id)],
        "made": quantity("3800"),
    }),
    "start mixing": Good(at("batches/approved/mixing"), lambda t: ids(t, on_behalf_of=t.bo)),
    "finish mixing": Good(at("batches/begun/mixing/finish"), lambda t: {
        **ids(t, vessel=t.empty, on_behalf_of=t.bo), "made": quantity("3800"),
    }),
    "label a vessel": Good(at("vessels"), lambda t: {
        "name": "mine", "nominal": quantity("1000"), "material": "glass", **ids(t, owner=t.ada),
    }),
    "decant": Good(at("transfers"), lambda t: {
        "kind": "decant", **ids(t, source=t.bath, target=t.spare, on_behalf_of=t.bo), "volume": quantity("300"),
    }),
    "dilute": Good(at("transfers"), lambda t: {
        "kind": "dilute", **ids(t, source=t.bath, target=t.spare), "volume": quantity("300"), "dilution": "1+1",
    }),
    "open": Good(at("transfers"), lambda t: {"kind": "open", **ids(t, pack=t.bottled, target=t.empty)}),
    "empty": Good(at("transfers"), lambda t: {
        "kind": "empty", **ids(t, source=t.bath, container=t.can), "volume": quantity("300"),
    }),
    "spill": Good(at("transfers"), lambda t: {"kind": "spill", **ids(t, source=t.bath), "volume": quantity("3")}),
    "set up a line": Good(at("lines"), lambda t: {
        "name": "New line", "process": "bw", "film_or_paper": "film",
        "steps": [{"role": "developer", **ids(t, vessel=t.bath, container=t.can)}],
    }),
    "plan a tank": Good(at("tank-plans"), lambda t: {
        **one_tank(t), **ids(t, line=t.line, vessel=t.bath, on_behalf_of=t.ada),
    }),
    "check in": Good(at("check-ins"), lambda t: {
        **one_tank(t), **ids(t, plan=t.kept, line=t.line, vessel=t.bath, poured_back_into=t.spare, on_behalf_of=t.ada),
        "poured_back": quantity("490"), "containers": {"developer": str(t.can.public_id)},
    }),
    "test": Good(at("tests"), lambda t: {
        **ids(t, vessel=t.bath, on_behalf_of=t.ada), "figures": {"matches": True},
    }),
    "read a level": Good(at("vessels/bath/level"), lambda t: {
        "measured": quantity("700"), **ids(t, on_behalf_of=t.ada),
    }),
    "stop": Good(at("vessels/bath/stop"), lambda t: {"reason": "it looks brown", **ids(t, on_behalf_of=t.ada)}),
    "replenish": Good(at("vessels/flask/replenishment"), lambda t: {
        **ids(t, replenisher=t.bath, container=t.can, on_behalf_of=t.ada), "added": quantity("70"),
        "poured_off": quantity("70"),
    }),
    "promote": Good(lambda t: f"vessels/{t.fixers[1].public_id}/promotion", lambda t: ids(
        t, line=t.two_baths, second=t.fixers[2]
    )),
    "open trays": Good(at("tray-sessions"), lambda t: {
        "group": "Tuesday", **ids(t, line=t.paper_line, on_behalf_of=t.ada), "trays": [{
            "role": "developer", **ids(t, tray=t.pan, source=t.paper), "volume": quantity("300"), "dilution": "1+2",
        }],
    }),
    "tally": Good(at("tray-sessions/printing/tallies"), lambda t: {
        "format": "paper-8x10", "count": 3, **ids(t, on_behalf_of=t.ada),
    }),
    "close into a bottle": Good(at("tray-sessions/printing/closing"), lambda t: {
        "trays": [{"role": "developer", "to": ids(t, vessel=t.empty), "volume": quantity("900")}],
    }),
    "close into waste": Good(at("tray-sessions/printing/closing"), lambda t: {
        "trays": [{"role": "developer", "to": ids(t, container=t.can)}], **ids(t, on_behalf_of=t.ada),
    }),
    "set up a container": Good(at("containers"), lambda t: {
        "name": "can", "material": "hdpe", "rated": quantity("10000"), **ids(t, stream=t.can.stream),
    }),
    "pour by hand": Good(at("fills"), lambda t: {
        **ids(t, container=t.can, stream=t.can.stream), "volume": quantity("100"), "description": "found on the shelf",
    }),
    "sign off": Good(at("sign-offs"), lambda t: {"members": [str(t.ada.public_id)], "topics": ["ppe"]}),
}  # fmt: skip
REPORTS = [
    "find a batch", "start mixing", "finish mixing", "decant", "dilute", "open", "empty", "spill", "check in", "test",
    "read a level", "stop", "replenish", "open trays", "tally", "close into a bottle", "pour by hand",
]  # fmt: skip
every_good = pytest.mark.parametrize("name", GOOD)


def leaves(value: Any, pointer: str = "") -> Iterator[tuple[str, Any]]:
    """Yield every value of a body that is no object or list, by where it is."""
    if isinstance(value, dict | list):
        parts = value.items() if isinstance(value, dict) else enumerate(value)
        for name, part in parts:
            yield from leaves(part, f"{pointer}/{name}")
    else:
        yield pointer, value


def but(body: dict[str, Any], pointer: str, value: Any) -> dict[str, Any]:
    """Return a body with another value at one place."""
    other: Any = deepcopy(body)
    *way, last = pointer.split("/")[1:]
    part = other
    for step in way:
        part = part[int(step)] if isinstance(part, list) else part[step]
    part[int(last) if isinstance(part, list) else last] = value
    return other


def is_id(value: Any) -> bool:
    return isinstance(value, str) and value.count("-") == 4 and len(value) == 36


# Another darkroom's ids, anywhere


@every_good
def test_an_id_of_another_darkroom_in_a_body_is_like_one_that_is_nowhere(ours, theirs, client, name):
    good, foreign_body = GOOD[name], GOOD[name].body(theirs)
    address, body = good.address(ours), good.body(ours)
    foreign_ids = {pointer: value for pointer, value in leaves(foreign_body) if is_id(value)}
    assert foreign_ids
    with no_effect():
        for pointer, value in foreign_ids.items():
            foreign, absent = (client.post(address, but(body, pointer, each)) for each in (value, str(uuid4())))
            assert list(faults(foreign)) == [pointer], foreign.json()
            assert foreign.content == absent.content
    assert client.post(address, body).status_code in {200, 201}, "the body is good otherwise"


def thing_of(t: Term, kind: str) -> Any:
    """Return the id of a thing of the term, of each kind that an address names."""
    first = {
        "notices": Notice.objects.filter(darkroom=t.room), "sign-offs": SignOff.objects.filter(topic__darkroom=t.room),
        "tests": BathTest.objects.filter(darkroom=t.room), "topics": Topic.objects.filter(darkroom=t.room),
    }  # fmt: skip
    if kind in first:
        return first[kind].order_by("pk")[0].public_id
    rows = {
        "batches": t.bath.batch, "check-ins": t.late, "containers": t.can, "fills": t.by_hand, "formulas": formula(t),
        "lines": t.line, "members": t.ada, "packs": t.pack, "streams": t.can.stream, "tank-plans": t.kept,
        "transfers": t.decant, "tray-sessions": t.printing, "vessels": t.bath, **t.more,
    }  # fmt: skip
    return rows[kind].public_id


@pytest.mark.parametrize("route", [route for route in ROOMS if "<uuid:" in route.pattern], ids=named)
def test_an_id_of_another_darkroom_in_an_address_is_like_one_that_is_nowhere(ours, theirs, client, route):
    foreign = thing_of(theirs, route.pattern.split("/")[4])
    with no_effect():
        answers = [send(client, route, each) for each in (foreign, uuid4())]
    assert [answer.status_code for answer in answers] == [404, 404]
    assert answers[0].content == answers[1].content


def send(client: Any, route: Any, thing: Any) -> Any:
    """Send an empty request to a route about a thing."""
    path = route.pattern.removeprefix("api/v1/darkrooms/<slug:slug>/")
    for part in [part for part in path.split("/") if part.startswith("<")]:
        path = path.replace(part, {"<int": "1", "<str": "55-55-0"}.get(part[:4], str(thing)))
    headers = {"HTTP_IDEMPOTENCY_KEY": str(uuid4()), "HTTP_IF_MATCH": "*"}
    more = {} if route.method == "GET" else {"data": "{}", "content_type": "application/json"}
    return client.generic(route.method, path, **more, **headers)


# Numbers and units that mean nothing, or two things

NONSENSE = {
    "-1": "number.negative", "NaN": "number.malformed", "Infinity": "number.malformed", "1e3": "number.malformed",
    "２５０": "number.malformed", "1_000": "number.malformed", "1,000": "number.malformed", "": "number.malformed",
    " 250": "number.malformed", "+250": "number.malformed", ".5": "number.malformed", "0x10": "number.malformed",
    "9" * 12: "quantity.out_of_range", "9" * 400: "number.malformed", "0.0000000001": "number.malformed",
    250: "number.not_text", None: "number.not_text", True: "number.not_text",
}  # fmt: skip
UNITS = {"gal": "us_gal or imp_gal", "gallon": "us_gal or imp_gal", "ML": "megalitre", "ml": "say mL", "kg": "volume"}
AMOUNTS = {
    "receive packs": ["/makes"], "find a batch": ["/made"], "finish mixing": ["/made"], "label a vessel": ["/nominal"],
    "decant": ["/volume"], "dilute": ["/volume"], "empty": ["/volume"], "spill": ["/volume"], "plan a tank": ["/tank"],
    "check in": ["/tank", "/poured_back"], "read a level": ["/measured"], "replenish": ["/added", "/poured_off"],
    "open trays": ["/trays/0/volume"], "close into a bottle": ["/trays/0/volume"], "set up a container": ["/rated"],
    "pour by hand": ["/volume"],
}  # fmt: skip
MAY_BE_ZERO = {
    ("read a level", "/measured"), ("check in", "/poured_back"), ("replenish", "/poured_off"),
    ("close into a bottle", "/trays/0/volume"),
}  # fmt: skip


@pytest.mark.parametrize(("name", "pointer"), [(name, each) for name, places in AMOUNTS.items() for each in places])
def test_an_amount_that_is_no_plain_number_of_a_known_unit_is_named_with_how_to_write_it(ours, client, name, pointer):
    address, body = GOOD[name].address(ours), GOOD[name].body(ours)
    with no_effect():
        for value, code in NONSENSE.items():
            found = faults(client.post(address, but(body, pointer, {"value": value, "unit": "mL"})))
            assert (list(found), found[f"{pointer}/value"][0]) == ([f"{pointer}/value"], code), value
        for unit, words in UNITS.items():
            ((code, said),) = faults(client.post(address, but(body, pointer, quantity("1", unit)))).values()
            assert code.startswith("unit."), unit
            assert words in said
        if (name, pointer) not in MAY_BE_ZERO:
            nothing = client.post(address, but(body, pointer, quantity("0")))
            assert faults(nothing)[f"{pointer}/value"][0] == "quantity.zero"


COUNTS = [
    ("receive packs", "/count"), ("receive packs", "/price/minor"), ("plan a tank", "/films/0/count"),
    ("check in", "/films/0/count"), ("tally", "/count"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "pointer"), COUNTS)
def test_a_count_is_a_bare_whole_number_within_reason(ours, client, name, pointer):
    address, body = GOOD[name].address(ours), GOOD[name].body(ours)
    with no_effect():
        for value in (-1, 10**12, "3", 1.5, True, None, "１"):
            assert list(faults(client.post(address, but(body, pointer, value)))) == [pointer], value


@pytest.mark.parametrize("name", ["plan a tank", "check in", "dilute", "open trays"])
def test_one_to_three_is_read_both_ways_and_both_are_offered(ours, client, name):
    address, body = GOOD[name].address(ours), GOOD[name].body(ours)
    pointer = next(pointer for pointer, _ in leaves(body) if pointer.endswith("/dilution"))
    with no_effect():
        answer = client.post(address, but(body, pointer, "1:3"))
        ((where, (code, said)),) = faults(answer).items()
        assert (where, code) == (pointer, "dilution.ambiguous")
        assert "1+3" in said
        assert "1+2" in said
        assert answer.json()["facts"]["offers"] == ["1+3", "1+2"]
        for nonsense in ("1+1+1", "1+-1", "1＋3", "1+501", "half"):
            found = faults(client.post(address, but(body, pointer, nonsense)))
            assert found[pointer][0] == "dilution.malformed", nonsense


# Times that cannot have been


@pytest.mark.parametrize("name", REPORTS)
def test_what_has_not_happened_yet_is_not_a_report(ours, client, name):
    later = (clock.now() + timedelta(minutes=5)).isoformat()
    body = GOOD[name].body(ours) | {"occurred_at": later}
    with no_effect():
        assert faults(client.post(GOOD[name].address(ours), body))["/occurred_at"][0] == "time.future"
        for nonsense in ("2026-03-08T12:00", "2026-02-30T12:00:00Z", "yesterday", 0):
            told = faults(client.post(GOOD[name].address(ours), body | {"occurred_at": nonsense}))
            assert list(told) == ["/occurred_at"]


TO_A_LIQUID = [
    "decant", "dilute", "open", "empty", "spill", "check in", "test", "read a level", "replenish", "open trays",
    "tally",
]  # fmt: skip


@pytest.mark.parametrize("name", TO_A_LIQUID)
def test_nothing_happened_to_a_liquid_before_it_was_mixed_or_filled(ours, client, name):
    before = (terms.START - timedelta(days=100)).isoformat()
    body = GOOD[name].body(ours) | {"occurred_at": before}
    with no_effect():
        ((pointer, (code, _)),) = faults(client.post(GOOD[name].address(ours), body)).items()
    assert (pointer, code.split(".")[0]) == ("/occurred_at", "time")


def test_a_batch_is_not_finished_before_it_was_begun(ours, client):
    before = (terms.START + timedelta(days=4)).isoformat()
    body = GOOD["finish mixing"].body(ours) | {"occurred_at": before}
    with no_effect():
        found = faults(client.post(GOOD["finish mixing"].address(ours), body))
    assert found["/occurred_at"][0] == "time.impossible"


# Keys


@every_good
def test_a_key_counts_once_and_with_another_body_not_at_all(ours, client, name):
    good, key = GOOD[name], uuid4()
    address, body = good.address(ours), good.body(ours)
    first = client.post(address, body, key)
    assert first.status_code in {200, 201}, first.json()
    with no_effect():
        again = client.post(address, body, key)
        assert (again.status_code, again.content) == (first.status_code, first.content)
        assert again["Idempotency-Replayed"] == "true"
        pointer, value = next((pointer, value) for pointer, value in leaves(body) if is_id(value))
        other = but(body, pointer, value.upper())
        refused(client.post(address, other, key), 422, "key.reused")
        for nonsense in ("", "1", str(key)[:-1], "../../etc"):
            assert client.post(address, body, HTTP_IDEMPOTENCY_KEY=nonsense).status_code == 400


# Who may not


def test_half_a_packet_is_refused_with_the_reason(ours, client):
    body = GOOD["request a batch"].body(ours)
    with no_effect():
        for part in ("0.5", "0.25", "0.9999"):
            told = refused(client.post("batches", body | {"share": part}), 422, "packet.split")
            assert "whole" in str(told["facts"]["offers"])
        for nonsense in ("-1", "2", "half", "1_0", 0.5):
            assert list(faults(client.post("batches", body | {"share": nonsense}))) == ["/share"]


def test_powder_is_mixed_by_who_is_signed_off_for_it_and_by_nobody_under_age(ours, client_for):
    di, born = brew.staff(ours.room, Role.ADMIN), (clock.now() + timedelta(days=900)).date()
    pupil, lay = make.member(di, name="Max Mohn", minor_until=born), make.member(di, name="Lea Lay")
    make.signed_off(ours.cy, pupil, "room-induction", "ppe")
    address = GOOD["start mixing"].address(ours)
    with no_effect():
        told = refused(client_for(lay).post(address), 403, "mixer.unsigned")
        assert told["facts"]["missing"] == ["room-induction", "ppe", "powder-handling"]
        assert "Who can sign" in told["detail"]
        refused(client_for(pupil).post(address), 403, "mixer.minor")
        refused(client_for(ours.bo).post(address, {"on_behalf_of": str(lay.public_id)}), 403, "mixer.unsigned")


def test_nobody_approves_an_own_request_or_releases_an_own_batch_where_two_are_required(ours, client, client_for):
    required = {"second_person_mixing": "required", "second_person_release": "required"}
    assert client.patch(f"/api/v1/darkrooms/{ours.room.slug}", required).status_code == 200
    asked = brew.requested_batch(ours.room)
    made = brew.mixed_batch(ours.room, at=clock.now() - timedelta(hours=25))
    brew.release_test(made, ours.cy)
    bo = client_for(ours.bo)
    assert (asked.requested_by, make.refreshed(made).mixed_by) == (ours.bo, ours.bo)
    with no_effect():
        told = refused(bo.post(f"batches/{asked.public_id}/approval"), 403, "approver.requester")
        assert "Another technician or instructor" in told["detail"]
        refused(bo.post(f"batches/{made.public_id}/release"), 403, "releaser.mixer")


# Too much: refused as a plan, written as a report


def test_a_plan_beyond_the_contents_names_what_remains_and_another_vessel_and_the_report_is_written(ours, client):
    bench.developer(ours.room)
    bath = bench.fresh(ours.bath)
    body = {**one_tank(ours), **ids(ours, line=ours.line, vessel=bath), "tank": quantity("950"), "dilution": "stock"}
    with no_effect():
        told = refused(client.post("tank-plans", body), 422, "vessel.short")
        remains = told["facts"]["remains"]
        assert (remains["vessel"], ml(remains["contents_ml"])) == (str(bath.public_id), bath.contents)
    would_do(client, told, body)
    reported(ours, client, body, "vessel.short")
    assert bench.fresh(ours.bath).contents == 0


def test_a_plan_beyond_the_capacity_names_what_remains_and_another_vessel_and_the_report_is_written(ours, client):
    bath = bench.developer(ours.room)
    body = {**one_tank(ours), **ids(ours, line=ours.line, vessel=bath), "use": "reuse", "dilution": "stock"}
    body |= {"films": [{"format": "135-36", "count": 3}], "tank": quantity("750")}
    assert bench.codes(client.post("check-ins", body)) == []
    with no_effect():
        told = refused(client.post("tank-plans", body), 422, "capacity.exhausted")
        assert told["facts"]["remains"]["load_left"] == "1.0000"  # of 4 a litre: common practice, no source
        assert "1 of 4 roll units are left here and this load is 3" in told["detail"]
    would_do(client, told, body)
    reported(ours, client, body, "capacity.exhausted")


def would_do(client: Any, told: dict[str, Any], body: dict[str, Any]) -> None:
    """Check that a refusal names other vessels, and that what it says would do, does."""
    offers = told["facts"]["would_do"]
    assert {offer["vessel"] for offer in offers} - {body["vessel"]}
    for offer in offers:
        assert offer["code"] in told["detail"]
        planned = client.post("tank-plans", body | {name: offer[name] for name in ("vessel", "tank", "dilution")})
        assert planned.status_code == 201, planned.json()


def reported(ours: Term, client: Any, body: dict[str, Any], code: str) -> None:
    """Report what a plan was refused for: it is written, flagged with the rule it broke, and told to the technician."""
    answer = client.post("check-ins", body)
    assert code in bench.codes(answer)
    text = next(flag["text"] for flag in answer.json()["flags"] if flag["code"] == code)
    told = Notice.objects.filter(to=ours.bo, kind="check-in-flagged", subject=f"check-in:{answer.json()['id']}")
    assert text in told.get().text
