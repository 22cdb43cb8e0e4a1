"""The substance table: sound numbers, masses that agree with the elements, sources, and a darkroom's own values."""

from decimal import Decimal
from fractions import Fraction

import pytest
from molmass import Formula

from chemistry.science import air
from chemistry.science.formula import Form
from chemistry.science.hazard import cas, limit, table, unread
from chemistry.science.hazard.category import Endpoint
from chemistry.science.hazard.classify import judge
from chemistry.science.hazard.origin import UNREAD, How
from chemistry.science.hazard.reading import TableFault
from tests.chemistry.science.hazard import made

STANDARD = table.standard()
WANTED = [
    "123-31-9",
    "55-55-0",
    "92-43-3",
    "13047-13-7",
    "50-81-7",
    "134-03-2",
    "7757-83-7",
    "10117-38-1",
    "7681-57-4",
    "497-19-8",
    "584-08-7",
    "1303-96-4",
    "12179-04-3",
    "1330-43-4",
    "10043-35-3",
    "1303-86-2",
    "7775-19-1",
    "10555-76-7",
    "1310-73-2",
    "7758-02-3",
    "95-14-7",
    "64-19-7",
    "77-92-9",
    "5949-29-1",
    "7783-18-8",
    "7772-98-7",
    "10102-17-7",
    "13746-66-2",
    "7778-50-9",
    "25646-71-3",
    "25646-77-9",
    "60-00-4",
    "6381-92-6",
    "64-02-8",
    "7681-52-9",
    "7722-84-1",
    "10102-18-8",
    "50-00-0",
    "111-30-8",
]


def test_every_substance_a_darkroom_meets_is_there():
    assert set(WANTED) <= set(STANDARD.substances)


def test_every_ingredient_of_the_starter_formulas_is_there(starter):
    met = {part.cas for rules in starter.values() for part in rules.composition}
    assert met <= set(STANDARD.substances)
    assert {rules.form for rules in starter.values()} == set(Form)


@pytest.mark.parametrize("number", sorted(STANDARD.substances))
def test_every_number_has_its_check_digit(number):
    assert cas.is_sound(number)


@pytest.mark.parametrize("number", sorted(STANDARD.substances))
def test_every_molar_mass_agrees_with_the_atomic_weights(number):
    """Checked with a general-purpose library of atomic weights."""
    substance = STANDARD.substances[number]
    mass = Decimal(str(Formula(substance.formula).mass)) / substance.formula_holds
    stated = Decimal(substance.molar_mass.numerator) / Decimal(substance.molar_mass.denominator)
    assert abs(mass - stated) <= Decimal("0.015")


@pytest.mark.parametrize("number", [each.cas for each in STANDARD.substances.values() if each.hydrate_of])
def test_a_hydrate_is_its_salt_and_water(number):
    hydrate = STANDARD.substances[number]
    bare = STANDARD.substances[hydrate.hydrate_of]
    assert abs(hydrate.molar_mass - bare.molar_mass - hydrate.waters * Fraction("18.015")) < Fraction("0.05")


def test_a_wrong_check_digit_names_the_right_one():
    assert not cas.is_sound("25646-71-8")
    assert cas.check_digit("25646-71-8") == 3
    assert [cas.check_digit(each) for each in ("123-31", "abc", "123-31-99", "０-31-9", "")] == [None] * 5


def test_every_class_limit_and_estimate_has_a_source():
    for each in STANDARD.substances.values():
        for row in (*each.hazards, *each.bands, *each.toxicity, *each.flags, *each.aquatic):
            assert row.origin.title, each.name
        assert set(each.origins) >= {"molar_mass"}, each.name


def test_values_from_memory_are_all_listed():
    found = unread.unread()
    cells = {(each.about, each.cell) for each in found}
    assert ("metol", "hazards") in cells
    assert ("sodium hydroxide", "limit in air, UK EH40") in cells
    assert ("rule", "acute toxicity 4 counts from") in cells
    assert ("sulfur dioxide over a bath", "pKw") in cells
    assert ("hydroquinone", "m_acute") not in cells
    assert ("rule", "reproductive toxicant 1A or 1B") not in cells
    assert {each.origin.how for each in found} == set(UNREAD)
    memory = [each for each in found if each.origin.how is How.MEMORY]
    assert len(memory) > 100
    assert all(each.value for each in found)


def test_every_unread_row_of_the_table_is_counted_once():
    rows = 0
    for each in STANDARD.substances.values():
        cells = (
            *each.hazards,
            *each.bands,
            *each.toxicity,
            *each.flags,
            *each.aquatic,
            *([each.gas] if each.gas else []),
        )
        rows += sum(row.origin.how in UNREAD for row in cells)
        rows += sum(origin.how in UNREAD for origin in each.origins.values())
    rows += sum(row.origin.how in UNREAD for agent in STANDARD.agents.values() for row in agent.limits)
    rows += sum(each.origin.how in UNREAD for each in limit.ALL) + len(unread._IN_RULES) + len(air.FROM_MEMORY)
    assert rows == len(unread.unread())


@pytest.mark.parametrize(
    ("number", "endpoint", "code"),
    [
        ("55-55-0", Endpoint.ACUTE_ORAL, None),
        ("10102-18-8", Endpoint.ACUTE_DUST, 2),
        ("10102-18-8", Endpoint.ACUTE_ORAL, 2),
    ],
)
def test_corrections_of_a_second_reading(number, endpoint, code):
    """Metol's 237 mg/kg is flagged and not used; selenite is H330 by its dossier (ECHA 11204)."""
    found = STANDARD.substances[number].toxic_by[endpoint]
    if code is None:
        assert (found.category, found.ate) == (4, None)
        assert any("237" in each.words for each in STANDARD.substances[number].flags)
    else:
        assert found.category == code


def test_metol_has_no_m_factor():
    assert STANDARD.substances[made.METOL].m_acute is None


def test_formaldehyde_says_that_its_row_is_old():
    assert any("1 May 2026" in each.words for each in STANDARD.substances["50-00-0"].flags)


def override(**cells):
    return table.override(STANDARD, [{"cas": "92-43-3", "source": "supplier's sheet of 3 May 2026", **cells}])


def test_an_override_changes_one_cell_and_says_whose_it_is():
    changed = override(m_acute={"value": "10"})
    phenidone = changed.substances["92-43-3"]
    assert (phenidone.m_acute, phenidone.name) == (10, "phenidone")
    assert phenidone.origins["m_acute"].how is How.DARKROOM
    assert "molar_mass" in phenidone.origins
    assert changed.overridden == {"92-43-3": "supplier's sheet of 3 May 2026"}
    assert STANDARD.substances["92-43-3"].m_acute is None


def test_an_overridden_class_is_used_and_its_source_stands_in_the_trail():
    changed = override(classes=[{"class": "Skin Sens. 1"}])
    judged = judge(made.point((changed.substances["92-43-3"], 2)))
    [trail] = [each for each in judged.given if each.code == "Skin Sens. 1"]
    assert trail.counted[0].name == "phenidone"
    assert changed.substances["92-43-3"].hazards[0].origin.title == "supplier's sheet of 3 May 2026"


def test_a_substance_of_the_darkrooms_own_needs_a_name_and_its_classes():
    row = {"cas": "108-95-2", "source": "supplier's sheet", "name": "phenol", "classes": []}
    assert table.override(STANDARD, [row]).substances["108-95-2"].name == "phenol"
    with pytest.raises(TableFault, match="name and its classes") as refused:
        table.override(STANDARD, [{"cas": "108-95-2", "source": "supplier's sheet", "name": "phenol"}])
    assert refused.value.code == "override.incomplete"


@pytest.mark.parametrize(
    ("row", "code"),
    [
        ({"cas": "92-43-3", "m_acute": {"value": "10"}}, "override.without_source"),
        ({"cas": "92-43-3", "source": " ", "m_acute": {"value": "10"}}, "override.without_source"),
        ({"cas": "92-43-3", "source": "x" * 301}, "override.without_source"),
        ({"cas": "92-43-4", "source": "sheet"}, "cas.check_digit"),
        ({"cas": "metol", "source": "sheet"}, "cas.malformed"),
        ({"source": "sheet"}, "cas.malformed"),
        ({"cas": "92-43-3", "source": "sheet", "colour": "white"}, "substance.unknown_key"),
        ({"cas": "92-43-3", "source": "sheet", "m_acute": {"value": "ten"}}, "substance.unreadable"),
        ({"cas": "92-43-3", "source": "sheet", "m_acute": {"value": "0"}}, "substance.unreadable"),
        ({"cas": "92-43-3", "source": "sheet", "m_acute": 10}, "substance.unreadable"),
        ({"cas": "92-43-3", "source": "sheet", "classes": [{"class": "Nasty 1"}]}, "substance.unreadable"),
        ({"cas": "92-43-3", "source": "sheet", "classes": [{"class": "Acute Tox. 4"}]}, "substance.unreadable"),
        ({"cas": "92-43-3", "source": "sheet", "toxicity": [{"route": "oral"}]}, "substance.unreadable"),
        ({"cas": "92-43-3", "source": "sheet", "toxicity": [{"route": "oral", "category": 5}]}, "substance.unreadable"),
        (
            {"cas": "92-43-3", "source": "sheet", "limits": [{"class": "Eye Dam. 1", "from": "5", "below": "3"}]},
            "substance.unreadable",
        ),
        ({"cas": "92-43-3", "source": "sheet", "extreme_ph_from": {"value": "101"}}, "substance.unreadable"),
        ({"cas": "92-43-3", "source": "sheet", "volatile": {"value": "perhaps"}}, "substance.unreadable"),
        ({"cas": "92-43-3", "source": "sheet", "waters": 0}, "substance.unreadable"),
        ({"cas": "92-43-3", "source": "sheet", "name": ""}, "substance.unreadable"),
    ],
)
def test_a_bad_override_is_refused_and_named(row, code):
    with pytest.raises(TableFault) as refused:
        table.override(STANDARD, [row])
    assert refused.value.code == code


def test_a_table_with_a_number_twice_is_refused():
    data = {
        "sources": {},
        "agents": [],
        "substances": [{"cas": "50-00-0", "name": "a"}, {"cas": "50-00-0", "name": "b"}],
    }
    with pytest.raises(TableFault, match="twice"):
        table.read(data)


def test_a_row_without_a_name_is_refused():
    with pytest.raises(TableFault, match="a name"):
        table.read({"sources": {}, "agents": [], "substances": [{"cas": "50-00-0"}]})


def test_the_table_is_read_once():
    assert table.standard() is table.standard()


def test_limits_in_air_are_there_for_dust_and_gases():
    assert STANDARD.agent("").name == "dust of any kind"
    assert STANDARD.agent("7446-09-5").molar_mass == Decimal("64.06")
    assert STANDARD.agent("7732-18-5") is None
