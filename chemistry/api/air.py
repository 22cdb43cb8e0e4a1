"""A room's air, computed and never written: dust of a powder, fumes of acid in sulfite, how long until it is clear."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any, ClassVar
from uuid import UUID

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.commands import scope
from accounts.gate import ActView
from accounts.models import Darkroom
from chemistry.api.airwords import (
    ClearanceIn,
    ClearanceOut,
    DustIn,
    DustOut,
    FumesOut,
    SulfiteIn,
    cloud_words,
)
from chemistry.commands import formula
from chemistry.commands.hazards import substances_of
from chemistry.models import Formula
from chemistry.science import air, caution, dilution, roomair
from chemistry.science.formula import Form, Rules
from chemistry.science.hazard import assess, cas, strength
from chemistry.science.hazard.classify import CALCULATED
from chemistry.science.hazard.fault import Faulty
from chemistry.science.hazard.summary import with_unknown
from chemistry.science.hazard.table import Table
from darkroom_service.quantity import litres
from darkroom_service.refusal import Malformed, Unworkable

DUST_RULE = "1000 m / V mg/m3 at first, then x exp(-n t / 60); m in g, V in m3, n air changes an hour, t in minutes"
FUMES_RULE = (
    "pH where Na + H = HSO3 + 2 SO3 + acetate + OH; SO2 over it = dissolved SO2 / 1.23 mol/(L atm); at most one mole"
    " of SO2 for each mole of acid"
)
CLEAR_RULE = "minutes = -60 ln(share left) / air changes an hour"
GAS = caution.Caution(
    "Acid and sulfite set sulfur dioxide free: it burns eyes and airways and can bring on asthma.",
    "Keep acid out of sulfite baths. If it smells sharp, leave, air the room and let nobody with asthma go back first.",
    "ask the technician or the instructor; somebody short of breath needs the emergency number",
)
AIRED = caution.Caution(
    "A figure does not make air safe: near the work it is higher than in the room.",
    "Keep the extraction running while anybody mixes or pours, and for a while after.",
    "ask the technician or the instructor",
)
ANY_VOLUME = Decimal(1)  # m3; how long air takes to clear does not depend on it
OTHER_SHARES = (Decimal(50), Decimal(10), Decimal(5), Decimal(1))


class RoomView(ActView):
    """Reckons for a room and writes nothing, so it asks for no key."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.AIR_READ}
    keyed = False

    def room(self, given: dict[str, Any], *, volume_needed: bool = True) -> tuple[air.Room, dict[str, Any]]:
        """Return the room told, with what was left out taken from the settings; refuse what neither says."""
        found, taken = {}, []
        for name in ("room_volume", "air_changes"):
            value = given.get(name)
            if value is None:
                value = getattr(self.darkroom, name)
                taken += [name] if value is not None else []
            if value is None and (volume_needed or name == "air_changes"):
                raise _untold(name)
            found[name] = value
        volume, changes = (Decimal(found[name] or 0).scaleb(-2) for name in found)
        return air.Room(volume or ANY_VOLUME, changes), {**found, "from_settings": taken}


class DustView(RoomView):
    """Dust."""

    @extend_schema(operation_id="air_dust", request=DustIn, responses={200: DustOut})
    def post(self, request: Request, slug: str) -> Response:
        """Reckon what so much dust does in a room, against every limit known here; writes nothing."""
        given = DustIn.read(request.data)
        room, told = self.room(given)
        dust, name, lines = self._of(given)
        cloud = air.dust(given["raised"], room, dust.agents)
        figures = {"room": told, "of": name, "without_limit": dust.without}
        figures["cloud"] = cloud_words(given["raised"], cloud)
        return Response(DustOut({**figures, **_reckoned(DUST_RULE, cloud.assumptions, lines)}).data)

    def _of(self, given: dict[str, Any]) -> tuple[roomair.Dust, str, tuple[caution.Caution, ...]]:
        table, number = substances_of(self.darkroom), given.get("substance")
        if number is not None and "formula" in given:
            words = "Dust is of a formula or of a substance. Leave one of them out."
            raise Malformed("dust.two_kinds", words, pointer="/substance")
        if number is not None:
            return roomair.of_substance(_sound(number, table), table), table.substances[number].name, (AIRED,)
        if "formula" not in given:
            return roomair.Dust(((table.agents[roomair.ANY_DUST], Decimal(1)),), ()), "dust of any kind", (AIRED,)
        row, rules = _formula(self.darkroom, given["formula"], "/formula")
        try:
            powder = strength.at(assess.recipe_of(rules), strength.POWDER, with_unknown(rules.composition, table))
        except Faulty as fault:
            raise Malformed(fault.faults[0].code, str(fault), pointer="/formula") from None
        return roomair.of_powder(powder, table), f"{row.name}, powder", caution.handling(rules, Form.POWDER)


class SulfiteView(RoomView):
    """Acid in sulfite."""

    @extend_schema(operation_id="air_sulfite_and_acid", request=SulfiteIn, responses={200: FumesOut})
    def post(self, request: Request, slug: str) -> Response:
        """Reckon the pH and the sulfur dioxide where acid meets sulfite, two upper bounds; writes nothing."""
        given = SulfiteIn.read(request.data)
        room, told = self.room(given)
        bath = _brine(self.darkroom, given["bath"], "bath", "sulfite")
        acid = _brine(self.darkroom, given["acid"], "acid", "acetic_acid")
        others = sorted({*bath.unbalanced, *acid.unbalanced})
        sulfite, acetic = _both(bath, acid, others)
        liquid = litres(given["bath"]["volume"] + given["acid"]["volume"])
        fumes = air.sulfite_and_acid(sulfite, acetic, liquid, litres(given["headspace"]))
        agent = substances_of(self.darkroom).agents[roomair.SULFUR_DIOXIDE]
        clouds = {
            name: cloud_words(grams, air.gas(grams, room, agent))
            for name, grams in (("in_headspace", fumes.headspace_g), ("at_most", fumes.most_g))
        }
        figures = {"room": told, "ph": fumes.ph, "sulfite": sulfite, "acetic_acid": acetic, **clouds}
        figures |= {"headspace_ppm": fumes.headspace_ppm, "not_balanced": others}
        more = (f"No bound here: {', '.join(others)} in it can free more gas than is reckoned.",) if others else ()
        said = (*more, *fumes.assumptions, *air.WELL_MIXED, "Constants from memory.")
        return Response(FumesOut({**figures, **_reckoned(FUMES_RULE, said, (GAS, AIRED))}).data)


class ClearanceView(RoomView):
    """Clearance."""

    @extend_schema(operation_id="air_clearance", request=ClearanceIn, responses={200: ClearanceOut})
    def post(self, request: Request, slug: str) -> Response:
        """Reckon how long the air of a room takes to clear; writes nothing."""
        given = ClearanceIn.read(request.data)
        room, told = self.room(given, volume_needed=False)
        left = {share: air.clearance(room.air_changes, share / 100) for share in (given["left_percent"], *OTHER_SHARES)}
        figures = {
            "room": told,
            "left_percent": given["left_percent"],
            "minutes": left[given["left_percent"]],
            "others": [{"left_percent": share, "minutes": left[share]} for share in OTHER_SHARES],
        }
        said = (*air.WELL_MIXED, "Nothing more is released meanwhile.")
        return Response(ClearanceOut({**figures, **_reckoned(CLEAR_RULE, said, (AIRED,))}).data)


def _reckoned(rule: str, said: tuple[str, ...], lines: tuple[caution.Caution, ...]) -> dict[str, Any]:
    return {"rule": rule, "assumptions": said, "cautions": lines, "prevails": CALCULATED}


def _untold(name: str) -> Malformed:
    what = "the room's air in m3" if name == "room_volume" else "how often an hour the air is changed"
    words = f"Nobody has said {what}. Give {name} here, or let an admin write it into the darkroom's settings."
    return Malformed("room.untold", words, pointer=f"/{name}")


def _sound(number: str, table: Table) -> str:
    digit = cas.check_digit(number)
    if digit is None:
        words, code = "A CAS number looks like 123-31-9.", "cas.malformed"
    elif not cas.is_sound(number):
        words, code = f"{number} has the wrong check digit: it would end in {digit}.", "cas.check_digit"
    elif table.find(number) is None:
        words, code = f"{number} is not in the substance table. Leave it out for dust of any kind.", "cas.unknown"
    else:
        return number
    raise Malformed(code, words, pointer="/substance")


def _formula(darkroom: Darkroom, wanted: UUID, pointer: str) -> tuple[Formula, Rules]:
    row = scope.named(Formula.objects.filter(darkroom=darkroom), wanted, pointer=pointer, noun="formula")
    return row, formula.current(row).rules


def _brine(darkroom: Darkroom, given: dict[str, Any], part: str, mass: str) -> roomair.Brine:
    """Return the grams of sulfite and acetic acid in one of the two liquids."""
    if (mass in given) == ("formula" in given):
        words = f"Give either a formula or {mass}, and not both."
        raise Malformed("liquid.untold", words, pointer=f"/{part}/formula")
    if mass in given:
        if "dilution" in given:
            raise Malformed("dilution.without_formula", "A strength is of a formula.", pointer=f"/{part}/dilution")
        grams: Decimal = given[mass]
        none = Decimal(0)
        return roomair.Brine(grams, none, ()) if mass == "sulfite" else roomair.Brine(none, grams, ())
    _, rules = _formula(darkroom, given["formula"], f"/{part}/formula")
    share = _share(given.get("dilution", dilution.STOCK), f"/{part}/dilution")
    volume = litres(given["volume"])
    return roomair.of_liquid([(each.cas, each.g_per_l * volume * share) for each in rules.composition])


def _both(bath: roomair.Brine, acid: roomair.Brine, others: Sequence[str]) -> tuple[Decimal, Decimal]:
    """Return sulfite and acetic acid of both liquids; where one is lacking there is nothing that could be reckoned."""
    sulfite, acetic = bath.sulfite + acid.sulfite, bath.acetic + acid.acetic
    if sulfite and acetic:
        return sulfite, acetic
    lacking = "sulfite" if acetic else "acetic acid"
    words = (
        f"There is no {lacking} in these. Only acetic acid in sulfite is reckoned; that is not known to be harmless."
        " Ask by the grams of each, with another acid as the acetic acid of the same strength."
    )
    raise Unworkable("fumes.not_reckoned", words, lacking=lacking, not_balanced=others)


def _share(text: str, pointer: str) -> Decimal:
    try:
        parts = dilution.parse(text).parts
    except dilution.NotADilution as fault:
        raise Malformed("dilution.malformed", str(fault), pointer=pointer, offers=list(fault.offers)) from None
    return 1 / (1 + parts)


urls = [
    path("air/dust", DustView.as_view()),
    path("air/sulfite-and-acid", SulfiteView.as_view()),
    path("air/clearance", ClearanceView.as_view()),
]
