"""One bottle's life, end to end by HTTP, as each role: from a sealed packet to an empty vessel.

All figures are common practice without a source unless a line says otherwise.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from accounts.models import Darkroom
from darkroom_service import clock
from tests import make
from tests.chemistry.bench import quantity
from tests.conftest import Client
from tests.proof import differences

MONDAY = datetime(2026, 3, 2, 15, tzinfo=UTC)  # 16:00 in the school
LEADER = "leader of a 400 film from the test tin"
BASICS = ["room-induction", "ppe"]


@contextmanager
def on(day: int, hours: float = 0) -> Iterator[None]:
    """Hold the clock at an hour of a day of the term."""
    with clock.fixed(MONDAY + timedelta(days=day, hours=hours)):
        yield


class School:
    """A darkroom as its people see it: each speaks by HTTP under a token of their own."""

    def __init__(self, room: str) -> None:
        self.room, self.voices, self.members, self.things = room, {}, {}, {}

    def sign_in(self, name: str, username: str) -> None:
        """Let somebody sign in with login name and password."""
        voice = Client()
        voice.room = f"/api/v1/darkrooms/{self.room}/"
        told = {"username": username, "password": make.PASSWORD, "name": "phone"}
        answer = voice.post("/api/v1/tokens", told)
        assert answer.status_code == 201, answer.json()
        voice.credentials(HTTP_AUTHORIZATION=f"Token {answer.json()['token']}")
        self.voices[name] = voice

    def get(self, who: str, path: str, **query: str) -> dict:
        """Read something as somebody."""
        answer = self.voices[who].get(path, query)
        assert answer.status_code == 200, answer.json()
        return answer.json()

    def post(self, who: str, path: str, body: dict | None = None, *, code: int = 0, **more: object) -> dict:
        """Do something as somebody: it works, or is refused with the status expected; returns the answer."""
        answer = self.voices[who].post(path, {**(body or {}), **more})
        told = answer.json()
        assert answer.status_code == code or (not code and answer.status_code in {200, 201}), told
        return told

    def made(self, who: str, path: str, body: dict | None = None, **more: object) -> str:
        """Do something as somebody and return the id of what came of it."""
        return self.post(who, path, body, **more)["id"]

    def vessel(self, name: str) -> dict:
        return self.get("bo", f"vessels/{self.things[name]}")

    def told(self, who: str, kind: str) -> list[str]:
        """Return what somebody's inbox says of a kind."""
        return [each["text"] for each in self.get(who, "notices")["items"] if each["kind"] == kind]


def film(school: School, **more: object) -> dict:
    """Return the body of a tank of one 135-36 through the film line: one-shot 1+1 in 600 mL, unless told otherwise."""
    return {
        "line": school.things["film line"], "films": [{"format": "135-36", "count": 1}], "tank": quantity("600"),
        "use": "one_shot", "dilution": "1+1", **more,
    }  # fmt: skip


def reuse(school: School, **more: object) -> dict:
    """Return the body of a tank of bottle C's stock, poured back, its time lengthened from 9 minutes when fresh."""
    again = {"use": "reuse", "dilution": "stock", "compensate": True, "tank": quantity("300")}
    return film(school, vessel=school.things["C"], base_time=quantity("9", "min"), **again, **more)


def factor(plan: dict, name: str) -> str:
    """Return one factor of a plan's time."""
    return next(each["value"] for each in plan["time"]["factors"] if each["name"] == name)


def test_one_bottles_life(db):
    school = enter()
    supplies(school)
    mixed_and_rested(school)
    bottled_tested_and_released(school)
    baths_and_line(school)
    one_shot(school)
    reused_with_longer_times(school)
    a_class_prints(school)
    a_level_corrects(school)
    a_late_sheet_and_a_mistake(school)
    past_its_date(school)
    failed_and_stopped(school)
    to_the_last_drop(school)
    every_millilitre(school)
    assert differences(Darkroom.objects.get(slug=school.room)) == []


def enter() -> School:
    """The admin opens the darkroom; the instructor signs people off for induction, PPE and powder handling."""
    founder = make.account("Di Dorn", password=make.PASSWORD)
    school = School(make.unique("school"))
    school.sign_in("di", founder.username)
    with on(0):
        told = {
            "slug": school.room, "name": "School darkroom", "zone": "Europe/Berlin", "currency": "EUR",
            "second_person_mixing": "required", "second_person_release": "required",
            "tank_sizes": [quantity(size) for size in ("300", "473", "600", "946", "1000")],
        }  # fmt: skip
        school.post("di", "/api/v1/darkrooms", told)
        for name, roles in {
            "cy": ["member", "instructor"], "bo": ["member", "technician"], "eli": ["member", "technician"],
            "ada": ["member"], "max": ["member"],
        }.items():  # fmt: skip
            new = {"username": name, "name": name.title(), "password": make.PASSWORD, "roles": roles}
            school.members[name] = school.made("di", "members", new)
    for name in school.members:
        school.sign_in(name, f"{name}@{school.room}")
    with on(0, 1):
        signed = {"members": [school.members["cy"]], "topics": [*BASICS, "powder-handling"]}
        school.post("di", "sign-offs", signed, evidence="course certificate seen")
        staff = [school.members[name] for name in ("bo", "eli")]
        school.post("cy", "sign-offs", {"members": staff, "topics": [*BASICS, "powder-handling"]})
        school.post("cy", "sign-offs", {"members": [school.members[name] for name in ("ada", "max")], "topics": BASICS})
    return school


def supplies(school: School) -> None:
    """The instructor publishes formulas; the technician receives packets and sets up waste containers."""
    things = school.things
    with on(1):
        codes = ["mq-borax", "mq-carbonate", "stop-acetic", "rapid-fixer", "washing-aid"]
        school.post("cy", "formulas/starter", {"codes": codes})
        formulas = {each["code"]: each["id"] for each in school.get("bo", "formulas")["items"]}
        bought = {"mq-borax": (3, "3800", 1200), "mq-carbonate": (1, "3800", 1100), "stop-acetic": (1, "1000", 700),
                  "rapid-fixer": (1, "1000", 950), "washing-aid": (1, "4000", 600)}  # fmt: skip
        for code, (count, makes, minor) in bought.items():
            told = {"formula": formulas[code], "count": count, "lot": "A117", "makes": quantity(makes)}
            packs = school.post("bo", "packs", told, price={"minor": minor, "currency": "EUR"})["items"]
            assert len(packs) == count
            things[code], things[f"{code} packs"] = formulas[code], [each["id"] for each in packs]
        for code in ("bw-developer", "stop-bath", "fixer", "rinse"):
            stream = school.made("bo", "streams", {"code": code})
            can = {"stream": stream, "name": f"{code} can", "material": "hdpe", "rated": quantity("20", "L")}
            things[f"{code} can"] = school.made("bo", "containers", can)


def mixed_and_rested(school: School) -> None:
    """Bo asks, Eli approves, Bo mixes by the sheet, a whole packet; it rests for a day."""
    things = school.things
    with on(2):
        wanted = {"formula": things["mq-borax"], "packs": things["mq-borax packs"][:1]}
        half = school.post("bo", "batches", wanted, share="0.5", code=422)
        assert half["code"] == "packet.split"
        things["batch"] = batch = school.made("bo", "batches", wanted)
        assert school.post("bo", f"batches/{batch}/approval", code=403)["code"] == "approver.requester"
        assert school.post("eli", f"batches/{batch}/approval")["state"] == "approved"
        sheet = school.get("bo", f"batches/{batch}/mixing-sheet", hot="60", cold="12", room="21")
        assert [sheet["window"][end]["value"] for end in ("low", "high")] == ["50", "55"]
        # Three quarters of 3.8 L, brought to the middle of the window from taps at 60 and 12 °C: arithmetic.
        assert sheet["start"] == quantity("2850.0")
        assert {part["water"]: part["volume"]["value"] for part in sheet["water"]["parts"]}.keys() == {
            "hot tap",
            "cold tap",
        }
        assert (sheet["rest_hours"], sheet["required_topics"]) == (24, ["room-induction", "ppe", "powder-handling"])
        assert "whole" in sheet["packet"]
        assert sheet["cautions"]
        things["drum"] = school.made("bo", "vessels", name="drum", nominal=quantity("5", "L"), material="hdpe")
        unsigned = school.post("ada", f"batches/{batch}/mixing", code=403)
        assert (unsigned["code"], unsigned["facts"]["missing"]) == ("mixer.unsigned", ["powder-handling"])
        assert school.post("bo", f"batches/{batch}/mixing", water=quantity("52", "degC"))["state"] == "mixing"
        done = {"vessel": things["drum"], "made": quantity("3.8", "L")}
        assert school.post("bo", f"batches/{batch}/mixing/finish", done)["state"] == "resting"
        assert school.post("eli", f"batches/{batch}/release", code=409)["code"] == "batch.wrong_state"


def bottled_tested_and_released(school: School) -> None:
    """It is decanted into four vessels of known size and material, clip-tested, and released by who did not mix it."""
    things = school.things
    with on(3, 1):
        for name, size, material in (("A", 946, "glass"), ("B", 946, "glass"), ("C", 946, "glass"), ("D", 946, "hdpe")):
            told = {"name": f"bottle {name}", "nominal": quantity(str(size)), "material": material}
            things[name] = school.made("bo", "vessels", told)
            move = {"kind": "decant", "source": things["drum"], "target": things[name], "volume": quantity(str(size))}
            assert school.post("bo", "transfers", move)["flags"] == []
        assert school.vessel("drum")["contents"] == quantity("16.0")
        assert school.post("eli", f"batches/{things['batch']}/release", code=409)["code"] == "batch.untested"
        strip = {"vessel": things["A"], "for_release": True, "figures": {"density": "1.30"}}
        assert school.post("eli", "tests", strip)["passed"] is True
        assert school.post("bo", f"batches/{things['batch']}/release", code=403)["code"] == "releaser.mixer"
        assert school.post("eli", f"batches/{things['batch']}/release")["state"] == "released"
        bottle = school.vessel("B")
        assert (bottle["state"], bottle["use_by"]["day"]) == ("ready", "2026-09-04")  # 6 months full and tight


def baths_and_line(school: School) -> None:
    """Stop and fixer are made of liquid concentrates, the washing aid of powder; the technician lays the line."""
    things = school.things
    with on(4):
        for code, name, dilution in (("stop-acetic", "stop", "1+20"), ("rapid-fixer", "fixer", "1+4")):
            opened = {"kind": "open", "pack": things[f"{code} packs"][0], "name": f"{name} concentrate"}
            things[f"{name} concentrate"] = school.post("bo", "transfers", opened)["target"]
            things[name] = school.made("bo", "vessels", name=name, nominal=quantity("2", "L"), material="glass")
            ends = {"source": things[f"{name} concentrate"], "target": things[name]}
            made = {"kind": "dilute", **ends, "volume": quantity("2", "L"), "dilution": dilution}
            assert school.post("bo", "transfers", made)["flags"] == []
        things["aid"] = _powder(school, "washing-aid", "4000")
        things["paper stock"] = _powder(school, "mq-carbonate", "3800")
        steps = [
            ("developer", "A", "bw-developer"), ("stop", "stop", "stop-bath"), ("fixer_1", "fixer", "fixer"),
            ("washing_aid", "aid", "rinse"),
        ]  # fmt: skip
        told = [
            {"role": role, "vessel": things[bath], "container": things[f"{stream} can"]} for role, bath, stream in steps
        ]
        line = {"name": "Film line", "process": "bw", "film_or_paper": "film", "steps": told}
        things["film line"] = school.made("bo", "lines", line)


def _powder(school: School, code: str, makes: str) -> str:
    """Mix and release a packet by all its steps, and return the vessel it stands in."""
    things = school.things
    wanted = {"formula": things[code], "packs": things[f"{code} packs"]}
    batch = school.made("bo", "batches", wanted)
    school.post("eli", f"batches/{batch}/approval")
    drum = school.made("bo", "vessels", name=f"{code} drum", nominal=quantity(makes), material="hdpe")
    school.post("bo", f"batches/{batch}/mixing")
    school.post("bo", f"batches/{batch}/mixing/finish", vessel=drum, made=quantity(makes))
    with on(5, 2):
        if code == "mq-carbonate":
            school.post("eli", "tests", vessel=drum, for_release=True, figures={"density": "1.40"})
        assert school.post("eli", f"batches/{batch}/release")["state"] == "released"
    return drum


def one_shot(school: School) -> None:
    """Ada plans a tank at 1+1 and checks it in; the same at 1+3. Every bath of the line is charged by its own rule."""
    things = school.things
    with on(7):
        plan = school.post("ada", "tank-plans", film(school), hold=True, base_time=quantity("9", "min"))
        assert plan["vessel"]["id"] == things["A"]
        assert (plan["stock"], plan["water"]) == (quantity("300.0"), quantity("300.0"))
        assert plan["time"]["minutes"] == "9.000"
        assert [each["role"] for each in plan["charges"]] == ["developer", "stop", "fixer_1", "washing_aid"]
        assert plan["cautions"]
        assert school.vessel("A")["held"] == quantity("300.0")
        done = school.post("ada", "check-ins", {"plan": plan["id"]})
        assert (done["flags"], done["load"]) == ([], "1.0000")
        after = {each["role"]: each for each in done["vessels"]}
        assert after["developer"]["contents"] == quantity("646.0")
        assert (after["fixer_1"]["contents"], after["fixer_1"]["load"]) == (quantity("1995.0"), "1.0000")
        # 300 mL of a stock that cost 12.00 for 3.8 L are 95 cents; stop, fixer and washing aid add theirs: arithmetic.
        assert done["cost"]["minor"] == plan["cost"]["minor"] > 95
    with on(8):
        short = school.post("max", "tank-plans", film(school, tank=quantity("600"), dilution="1+3"), code=422)
        assert short["code"] == "tank.short_of_stock"  # 235 mL of stock for each roll, whatever the dilution
        offer = next(each for each in short["facts"]["would_do"] if each["dilution"] == "1+3")
        assert (offer["vessel"], offer["tank"]) == (things["A"], quantity("946.0"))
        for bottle in ("B", "B"):
            told = film(school, vessel=things[bottle], tank=quantity("1000"), dilution="1+3")
            assert school.post("max", "check-ins", told)["flags"] == []
        part = school.vessel("A")
        assert part["use_by"]["day"] == "2026-05-09"  # part-full since the 9th of March: 2 months


def reused_with_longer_times(school: School) -> None:
    """Bottle C is reused: each roll makes the next one's time longer, ten per cent for a roll per litre."""
    times = []
    for day in (9, 10, 11):
        with on(day):
            plan = school.post("ada", "tank-plans", reuse(school))
            times.append((factor(plan, "reuse"), plan["time"]["minutes"]))
            done = school.post("ada", "check-ins", {"plan": plan["id"]})
            assert done["flags"] == []
    # 0, 1 and 2 rolls on 0.946 L before: 1 + 0.10 x rolls per litre.
    assert times == [("1.0000", "9.000"), ("1.1057", "9.951"), ("1.2114", "10.903")]
    bottle = school.vessel("C")
    assert (bottle["use"], bottle["load"]["done"], bottle["contents"]) == ("reuse", "3.0000", quantity("931.0"))


def a_class_prints(school: School) -> None:
    """A class prints in trays filled once, tallied by sheet size, poured away in the end."""
    things = school.things
    with on(12):
        trays = []
        for role, source, dilution in (
            ("developer", "paper stock", "1+2"),
            ("stop", "stop concentrate", "1+20"),
            ("fixer_1", "fixer concentrate", "1+4"),
        ):
            tray = school.made("bo", "vessels", name=f"{role} tray", nominal=quantity("3", "L"), material="tray")
            told = {"role": role, "tray": tray, "source": things[source], "dilution": dilution}
            trays.append({**told, "volume": quantity("1500")})
        opened = school.post("cy", "tray-sessions", {"group": "Year 10", "trays": trays})
        assert opened["flags"] == []
        session = opened["id"]
    with on(12, 1):
        for who, size, count in (("ada", "paper-8x10", 6), ("max", "paper-5x7", 8)):
            tally = school.post(who, f"tray-sessions/{session}/tallies", {"format": size, "count": count})
            assert tally["flags"] == []
        # 8x10 in is a roll unit, 5x7 in is 35 of its 80 in2: 6 + 8 x 35/80 = 9.5.
        assert school.get("cy", f"tray-sessions/{session}")["total"]["load"] == "9.5000"
    with on(12, 3):
        cans = {"developer": "bw-developer can", "stop": "stop-bath can", "fixer_1": "fixer can"}
        told = [{"role": role, "to": {"container": things[can]}} for role, can in cans.items()]
        assert school.post("cy", f"tray-sessions/{session}/closing", {"trays": told})["flags"] == []


def a_level_corrects(school: School) -> None:
    """Bottle D is read off: 30 mL less than the record. They are unaccounted for, and said so."""
    with on(13):
        read = school.post("ada", f"vessels/{school.things['D']}/level", {"measured": quantity("916")})
        assert read["difference"] == quantity("-30.0")
        assert school.vessel("D")["contents"] == quantity("916.0")


def a_late_sheet_and_a_mistake(school: School) -> None:
    """A sheet from the wall log is typed in a week late; a tank entered twice is taken back; times follow."""
    with on(18):
        before = school.post("ada", "tank-plans", reuse(school))
        late = {"occurred_at": "2026-03-12T18:30:00+01:00", "on_behalf_of": school.members["max"]}
        sheet = school.post("bo", "check-ins", reuse(school, **late))
        assert (sheet["flags"], sheet["member"]) == ([], school.members["max"])
        assert (sheet["occurred_at"], sheet["recorded_at"]) == ("2026-03-12T17:30:00Z", "2026-03-20T15:00:00Z")
        after = school.post("ada", "tank-plans", reuse(school))
        assert (factor(before, "reuse"), factor(after, "reuse")) == ("1.3171", "1.4228")
        assert school.get("ada", f"tank-plans/{before['id']}")["time"] == before["time"], "advice given stands"
    with on(19):
        twice = school.post("ada", "check-ins", reuse(school))
        assert school.vessel("C")["load"]["done"] == "5.0000"
        school.post("max", f"check-ins/{twice['id']}/reversal", {"reason": "not mine"}, code=404)
        school.post("ada", f"check-ins/{twice['id']}/reversal", {"reason": "I entered yesterday's tank again"})
        assert school.vessel("C")["load"]["done"] == "4.0000"
        assert factor(school.post("ada", "tank-plans", reuse(school)), "reuse") == "1.4228"
        assert school.get("ada", f"check-ins/{twice['id']}")["reversal"]["reason"].startswith("I entered")
        mine = school.get("ada", "usage")["items"][0]
        assert (mine["entries"], mine["load"]) == (5, "10.0000")  # four tanks, and six 8x10 prints


def past_its_date(school: School) -> None:
    """Bottle A stands part-full past its date: a plan is refused, a passed clip test gives it two weeks."""
    with on(75):
        bottle = school.vessel("A")
        assert bottle["state"] == "test_first"
        refused = school.post("ada", "tank-plans", film(school, vessel=school.things["A"]), code=422)
        assert "vessel.test_first" in [each["code"] for each in refused["facts"]["reasons"]]
        strip = {"vessel": school.things["A"], "figures": {"density": "1.24", "matches": True}}
        assert school.post("bo", "tests", strip)["passed"] is True
        assert (school.vessel("A")["state"], school.vessel("A")["use_by"]["day"]) == ("ready", "2026-05-30")


def failed_and_stopped(school: School) -> None:
    """Bottle C fails its test: it stops at once, whoever used it is told, and nobody lifts it."""
    things = school.things
    with on(76):
        strip = {"vessel": things["C"], "figures": {"density": "1.10", "matches": False}}
        failed = school.post("bo", "tests", strip)
        assert (failed["passed"], failed["state"]) == (False, "stopped")
        assert any("failed its clip test" in text for text in school.told("ada", "recall"))
        assert school.told("max", "recall")
        assert (
            school.post("eli", f"vessels/{things['C']}/lifting", {"reason": "please"}, code=409)["code"] == "stop.final"
        )
        refused = school.post("ada", "tank-plans", reuse(school), code=422)
        assert refused["facts"]["reasons"][0]["code"] == "vessel.stopped"
        after_the_fact = school.post("ada", "check-ins", reuse(school))
        assert "vessel.stopped" in [flag["code"] for flag in after_the_fact["flags"]]
        assert any(things["C"] in text or "stopped" in text for text in school.told("bo", "check-in-flagged"))


def to_the_last_drop(school: School) -> None:
    """The failed bottle and the dregs of the others are poured into the waste container."""
    things, can = school.things, {"container": school.things["bw-developer can"]}
    with on(77):
        for name in ("C", "B", "drum", "A", "D"):
            poured = school.post("bo", "transfers", {"kind": "empty", "source": things[name], **can})
            assert poured["flags"] == []
            assert (school.vessel(name)["state"], school.vessel(name)["contents"]) == ("emptied", quantity("0.0"))


def every_millilitre(school: School) -> None:
    """The balance of the batch shows every millilitre, and who bore its cost."""
    batch = school.things["batch"]
    (found,) = school.get("bo", "balance", batch=batch)["items"]
    amount = {
        name: Decimal(each["value"]) for name, each in found.items() if isinstance(each, dict) and "value" in each
    }
    gone = ("into_batches", "in_vessels", "carried_out", "containers", "drain", "spilled", "evaporated", "unaccounted")
    assert amount["made"] == 3800
    assert amount["made"] + amount["water"] + amount["from_batches"] == sum(amount[name] for name in gone)
    assert (amount["in_vessels"], amount["difference"]) == (0, 0)
    # A: 300 mL and water; B: twice 250 mL and water; nothing else was watered. D was 30 mL short.
    assert (amount["water"], amount["unaccounted"]) == (300 + 2 * 750, 30)
    assert amount["carried_out"] == 5 * (1 + 2 + 5)  # 5 mL with each roll: one, two, and five from bottle C
    cost = {name: each["minor"] for name, each in found["cost"].items()}
    assert (cost["total"], cost["not_borne"]) == (1200, 0)
    assert cost["members"] + cost["darkroom"] == 1200
    assert school.get("bo", f"batches/{batch}")["closed_at"]
