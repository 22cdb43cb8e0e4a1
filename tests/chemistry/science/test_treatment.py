"""Bleach, acid, base, oxygen demand, silver and drains. The sources stand in the name of each case.

Molar masses are checked against the molmass package, enthalpies against the chemicals package, balances by algebra.
"""

from decimal import Decimal
from pathlib import Path

import chemicals
import pytest
from chemicals.reaction import Hfl
from hypothesis import given
from hypothesis import strategies as st
from molmass import Formula
from sympy import Matrix

from chemistry.science import air, bleach, discharge, neutralisation, oxygendemand, reaction, silverworth
from chemistry.science.hazard.table import standard
from tests.waste import cases
from tests.waste.cases import near, number

STOCK = {"55-55-0": Decimal(2), "7757-83-7": Decimal(100), "123-31-9": Decimal(5), "1303-96-4": Decimal(2)}
HELD = bleach.bath(STOCK)
MOL = bleach.strength()
LITRE = Decimal(1)
TWELVE = {"mol_per_l": bleach.strength(Decimal("12.5"), Decimal("1.2")), "bleach_density": Decimal("1.2")}


def atoms(species):
    """Return {element: count} and the charge of a species as the equations write it."""
    charge = species.count("+") - species.count("-")
    formula = species.strip("+-")
    return {element: item.count for element, item in Formula(formula).composition().items()}, charge


@pytest.mark.parametrize("known", reaction.REACTIONS.values(), ids=lambda known: known.name)
def test_an_equation_is_balanced_and_could_not_be_balanced_otherwise(known):
    sides = [(species, count) for species, count in known.left.items()]
    sides += [(species, -count) for species, count in known.right.items()]
    parts = [atoms(species) for species, _ in sides]
    elements = sorted({element for counts, _ in parts for element in counts})
    rows = [[counts.get(element, 0) for counts, _ in parts] for element in elements]
    matrix = Matrix([*rows, [charge for _, charge in parts]])
    written = Matrix([count for _, count in sides])
    assert matrix * written == Matrix.zeros(matrix.rows, 1)
    free = matrix.nullspace()
    assert len(free) == 1  # linear algebra, sympy: one solution but for its scale
    assert Matrix.hstack(free[0], written).rank() == 1


@cases.of("stoichiometry")
def test_moles_of_hypochlorite_for_each_mole(case):
    assert reaction.REACTIONS[case["input"]["species"]].per("OCl-") == case["expected"]


ENTHALPIES = {"HQ+OCl- to BQ": "hydroquinone"}


@cases.of("enthalpy")
def test_an_enthalpy_of_reaction(case):
    name = ENTHALPIES.get(case["input"]["reaction"], case["input"]["reaction"])
    assert float(reaction.heat(name)) == near(case["expected"], case["tolerance"])


IONS = {
    "SO3--": "14265-45-3",
    "HSO3-": "15181-46-1",
    "SO4--": "14808-79-8",
    "S2O3--": "14383-50-7",
    "OCl-": "14380-61-1",
    "Cl-": "16887-00-6",
    "OH-": "14280-30-9",
    "CH3COO-": "71-50-1",
    "HCO3-": "71-52-3",
}


def shipped(*parts):
    """Return a table of the chemicals package as rows by CAS number, with its header."""
    path = Path(chemicals.__file__).parent.joinpath(*parts)
    header, *rows = (line.split("\t") for line in path.read_text(encoding="utf-8").splitlines())
    return {row[0]: dict(zip(header, row, strict=False)) for row in rows}


def test_every_ion_said_to_be_of_the_crc_table_is_looked_up_there():
    assert {name for name, known in reaction.FORMATION.items() if known.source == reaction.CRC} == set(IONS)


@pytest.mark.parametrize("species", IONS)
def test_an_ion_has_the_enthalpy_of_formation_of_the_crc_table(species):
    table = shipped("Electrolytes", "CRC Thermodynamic Properties of Aqueous Ions.tsv")
    assert float(table[IONS[species]]["Hf(aq)"]) / 1000 == float(reaction.FORMATION[species].value)


def test_liquid_water_has_the_enthalpy_of_formation_of_a_general_library():
    assert float(reaction.FORMATION["H2O"].value) == pytest.approx(Hfl("7732-18-5") / 1000, abs=0.05)


FORMULAS = {
    **{number_: entry.formula for number_, entry in standard().substances.items()},
    "55-55-0": "(C7H9NO)2H2SO4",
    "134-03-2": "C6H7NaO6",
    "6381-77-7": "C6H7NaO6",
}
BLEACHED = (bleach.SULFITES, bleach.THIOSULFATES, bleach.HYDROQUINONE, bleach.METOL)
WEIGHED = {
    **{key: mass for table in BLEACHED for key, (mass, _) in table.items()},
    **{key: mass for key, (mass, _) in neutralisation.ACIDS.items()},
    **{key: Decimal(row[1]) for key, row in {**oxygendemand._ORGANIC, **oxygendemand._SULFUR}.items()},
}


@pytest.mark.parametrize("substance", sorted(WEIGHED))
def test_a_molar_mass_is_the_sum_of_its_atoms(substance):
    assert float(WEIGHED[substance]) == pytest.approx(Formula(FORMULAS[substance]).mass, abs=0.02)  # molmass


@pytest.mark.parametrize(
    ("formula", "mass"), [("NaOCl", bleach.HYPOCHLORITE), ("Ag", silverworth.SILVER), ("O2", oxygendemand.OXYGEN)]
)
def test_a_molar_mass_of_what_is_weighed_besides(formula, mass):
    assert float(mass) == pytest.approx(Formula(formula).mass, abs=0.002)  # molmass


@pytest.mark.parametrize("name", neutralisation.BASES)
def test_the_molar_mass_of_a_base(name):
    formula, mass, _ = neutralisation.BASES[name]
    assert float(mass) == pytest.approx(Formula(formula).mass, abs=0.01)  # molmass


@cases.of("hypochlorite")
def test_the_strength_of_bleach(case):
    found = bleach.strength(number(case["input"]["w"]) * 100, number(case["input"]["rho_kg_L"]))
    assert float(found) == near(case["expected"], case["tolerance"])


@cases.of("mq_stock")
def test_the_moles_in_an_mq_stock(case):
    for name, expected in case["expected"].items():
        assert float(getattr(HELD, name)) == near(expected, case["tolerance"])


@cases.of("mq_stock_bleach")
def test_bleach_in_an_mq_stock(case):
    told, expected, allowed = case["input"], case["expected"], case["tolerance"]
    strong = TWELVE if told["bleach"].startswith("12.5") else {"mol_per_l": MOL}
    if "bleach_mL" in told:
        found = bleach.dose(HELD, LITRE, number(told["bleach_mL"]) / 1000, **strong)
        names = ("hypochlorite_mol", "sulfite_share", "hydroquinone_share", "heat_kj", "rise_k")
    else:
        found = bleach.demand(HELD, LITRE, **strong)
        allowed = dict.fromkeys(expected, allowed)
        names = tuple(
            {"sulfite_only_L": "before_agents_l", "to_quinone_L": "to_quinones_l", "dT_K": "rise_k"}[key]
            for key in expected
        )
    for name, (key, value) in zip(names, expected.items(), strict=True):
        assert float(getattr(found, name)) == near(value, allowed[key]), key


def test_the_customary_dose_leaves_the_developing_agents_alone_and_is_never_recommended():
    for dose in ("0.05", "0.1"):
        found = bleach.dose(HELD, LITRE, Decimal(dose), mol_per_l=MOL)
        assert (found.hydroquinone_share, found.metol_share, found.left_over_mol) == (0, 0, 0)
        assert found.sulfite_share < Decimal("0.1")
    assert bleach.VERDICT == "not_a_treatment"
    assert "recommend" not in bleach.VERDICT


@given(st.decimals("0.001", "5", places=3), st.decimals("0", "3", places=3))
def test_more_bleach_never_does_less_and_no_share_passes_one(first, more):
    less, much = (bleach.dose(HELD, LITRE, litres, mol_per_l=MOL) for litres in (first, first + more))
    assert less.heat_kj <= much.heat_kj
    assert less.hydroquinone_share <= much.hydroquinone_share <= 1
    if less.hydroquinone_share > 0:
        assert less.sulfite_share == 1  # the agents are not touched while sulfite is there


@cases.of("kinetics")
def test_the_most_that_hydroquinone_can_take_while_there_is_sulfite(case):
    assert float(bleach.agent_share(HELD, number(case["input"]["pH"]))) == near(case["expected"], case["tolerance"])


@cases.of("fixer_bleach")
def test_bleach_that_a_fixer_would_take(case):
    held = bleach.bath({"10102-17-7": number(case["input"]["Na2S2O3_5H2O_g_L"])})
    found = bleach.demand(held, LITRE, mol_per_l=MOL)
    for name, key in (("before_agents_l", "bleach_L"), ("heat_kj", "heat_kJ"), ("rise_k", "dT_K")):
        assert float(getattr(found, name)) == near(case["expected"][key], case["tolerance"])


@cases.of("cl2_headspace")
def test_chlorine_over_bleach(case):
    told = case["input"]
    found = bleach.chlorine(number(told["pH"]), number(told["OCl_M"]), number(told["Cl_M"]))
    assert float(found) == near(case["expected"], case["tolerance"])


def test_acid_and_ammonium_are_warned_of_and_what_is_not_counted_is_named():
    rapid = bleach.bath({"7783-18-8": Decimal(120), "64-19-7": Decimal(4), "50-81-7": Decimal(1)})
    said = " ".join(bleach.warnings(rapid))
    assert "chlorine" in said
    assert "chloramines" in said
    assert "50-81-7" in said
    assert "chlorine free" not in " ".join(bleach.warnings(HELD, bleach.LOWEST_BLEACH_PH))
    assert "chlorine free" in " ".join(bleach.warnings(HELD, Decimal("9.49")))


@cases.of("acid_ph")
def test_the_ph_of_a_stop_bath(case):
    assert float(neutralisation.acid_ph(number(case["input"]["acetic_g_L"]))) == near(
        case["expected"], case["tolerance"]
    )


@cases.of("neutralise")
def test_what_neutralises_a_stop_bath(case):
    told, expected = case["input"], case["expected"]
    if "target_ph" in told:
        assert float(neutralisation.share_neutralised(number(told["target_ph"]))) == near(expected, case["tolerance"])
        return
    bases = {each.formula: each for each in neutralisation.neutralise(number(told["acetic_g"]), LITRE).bases}
    for formula in ("NaHCO3", "NaOH", "Na2CO3"):
        assert float(bases[formula].grams) == near(expected[f"{formula}_g"], case["tolerance"])
    assert float(bases["NaHCO3"].carbon_dioxide_l) == near(expected["CO2_L_25C"], case["tolerance"])
    assert bases["NaOH"].rise_k == Decimal("4.5")  # 18.7 kJ in a litre of water: computed from the NBS enthalpies


def test_citric_acid_counts_all_three_protons():
    # stoichiometry: 1 mole (192.12 g) takes 3 of hydroxide (119.99 g)
    bases = {each.formula: each for each in neutralisation.neutralise(Decimal("192.123"), LITRE, acid="77-92-9").bases}
    assert float(bases["NaOH"].grams) == pytest.approx(119.99, abs=0.02)


def test_an_acid_of_nothing_is_refused():
    with pytest.raises(ValueError, match="more than 0"):
        neutralisation.acid_ph(Decimal(0))


@cases.of("so2_mix")
def test_stop_bath_poured_into_developer(case):
    told = case["input"]
    litres, stock = number(told["stop_L_20gL"]), number(told["mq_stock_L"])
    found = neutralisation.sour(STOCK, stock, acetic_g_per_l=Decimal(20), acid_l=litres)
    assert float(found.fumes.ph) == near(case["expected"]["pH"], case["tolerance"]["pH"])
    gas = near(case["expected"]["so2_ppm_equilibrium"], case["tolerance"]["so2_ppm_equilibrium"])
    assert float(found.fumes.headspace_ppm) == gas
    assert found.break_point_l == Decimal("2.38")  # acid equals sulfite: 47.64 g of acid at 20 g/L, computed
    assert found.safe is (litres <= stock)


@cases.of("so2_headspace")
def test_sulfur_dioxide_over_a_sulfite_bath(case):
    found = air.headspace(number(case["input"]["S_IV_M"]), number(case["input"]["pH"]))
    assert float(found) == near(case["expected"], case["tolerance"])


@cases.of("cod")
def test_oxygen_demand_of_the_stock(case):
    found = oxygendemand.demand(STOCK)
    shares = {each.cas: float(each.oxygen_per_l) for each in found.shares} | {"total": float(found.total)}
    for name, key in (("sulfite", "7757-83-7"), ("hydroquinone", "123-31-9"), ("metol", "55-55-0"), ("total", "total")):
        assert shares[key] == near(case["expected"][name], case["tolerance"])
    assert found.uncounted == ()


# Grams of O2 to the gram, theoretical, ammonia basis: computed by hand from the equations of combustion.
@pytest.mark.parametrize(
    ("substance", "expected"),
    [("123-31-9", 1.889), ("55-55-0", 1.487), ("7757-83-7", 0.127), ("10102-17-7", 0.258), ("64-19-7", 1.066)],
)
def test_oxygen_to_the_gram(substance, expected):
    assert float(oxygendemand.per_gram(substance)) == pytest.approx(expected, abs=0.0006)


def test_what_is_not_known_is_named_rather_than_taken_as_nothing():
    assert oxygendemand.demand({"115-40-2": Decimal(1), "7758-02-3": Decimal(2)}).uncounted == ("115-40-2",)


@cases.of("silver")
def test_silver(case):
    told = case["input"]
    if "rolls" in told:
        parts = (told[name] for name in ("rolls", "g_m2", "dissolved_fraction", "m2_per_roll"))
        found = silverworth.silver(*(number(each) for each in parts))
    elif "A_h" in told:
        found = silverworth.by_current(number(told["A_h"]))
    elif "Ag_g" in told:
        found = silverworth.iron(number(told["Ag_g"]))
    else:
        found = silverworth.PRACTICAL_G_PER_L[told["thiosulfate"]]
    assert float(found) == near(case["expected"], case["tolerance"])


def test_a_roll_gives_a_range_and_its_worth_depends_on_the_price_asked_with():
    roll = silverworth.of_rolls(Decimal(1))
    assert (roll.low_g, roll.usual_g, roll.high_g) == (Decimal("0.1238"), Decimal("0.2064"), Decimal("0.2890"))
    found = silverworth.of_rolls(Decimal(100))
    assert silverworth.worth(found, Decimal(1), Decimal(11)).words.startswith("worth")  # 12.38 g x 0.9 = 11.15
    assert silverworth.worth(found, Decimal(1), Decimal(12)).words.startswith("not certain")  # a tenth is lost
    assert silverworth.worth(found, Decimal(1), Decimal(20)).words.startswith("not certain")
    assert silverworth.worth(found, Decimal(1), Decimal(30)).words.startswith("not worth")  # 28.90 g x 0.9 = 26.01


@cases.of("aquatic")
def test_the_dilution_a_threshold_would_take(case):
    found = discharge.dilution_needed(number(case["input"]["hq_g_L"]), number(case["input"]["threshold_ug_L"]) / 1000)
    assert float(found) == near(case["expected"], case["tolerance"])


def test_the_sewage_works_take_seven_thousand_times_the_volume():
    # PNEC of sewage treatment 0.71 mg/L, ECHA dossier 14417, read: 5000 mg/L / 0.71 = 7042.3, computed
    works = next(
        each for each in discharge.against(STOCK, LITRE, Decimal(0)).against if each.threshold.place == "plant"
    )
    assert (works.dilution_needed, works.over) == (7043, True)
    assert not _plant(Decimal(7042)).over
    assert _plant(Decimal(7041)).over


def _plant(water):
    found = discharge.against({"123-31-9": Decimal(5)}, LITRE, water)
    return next(each for each in found.against if each.threshold.place == "plant")


def test_what_has_no_threshold_is_named_and_the_site_adds_its_own():
    site = discharge.Limits({"7440-22-4": Decimal(2)}, Decimal(4000), Decimal(6), Decimal(10))
    found = discharge.against(STOCK, LITRE, Decimal(99), limits=site, silver_mg_per_l=Decimal(200), ph=Decimal("5.9"))
    silver = next(each for each in found.against if each.threshold.cas == "7440-22-4")
    oxygen = next(each for each in found.against if each.threshold.name == "oxygen demand")
    assert (silver.after_mg_per_l, silver.over) == (2, False)  # equal to the limit is within it
    assert (oxygen.after_mg_per_l, oxygen.over) == (Decimal("251.1"), False)
    assert "55-55-0" in found.unknown
    assert "below" in found.ph_words
    assert found.over
    unmeasured = discharge.against({"7758-02-3": LITRE}, LITRE, LITRE, limits=site)
    assert "none was measured" in unmeasured.ph_words
    inside = discharge.against({"7758-02-3": LITRE}, LITRE, LITRE, limits=site, ph=Decimal(6))
    assert (inside.ph_words, inside.over) == ("", False)


GASES = {"SO2": "7446-09-5", "Cl2": "7782-50-5", "H2S": "7783-06-4", "H2Se": "7783-07-5"}


@cases.of("exposure")
def test_the_limits_in_air_of_the_gases_are_those_of_a_general_library(case):
    row = shipped("Safety", "Ontario Exposure Limits.tsv")[GASES[case["input"]["gas"]]]
    mean, short = (row[f"{name}"].strip() for name in list(row)[2:4])
    expected = case["expected"]
    assert mean == f"{expected['twa_ppm']} ppm"
    assert short == ("" if expected["stel_ppm"] is None else f"{expected['stel_ppm']} ppm")
    told = [each for each in standard().agents.values() if each.cas == GASES[case["input"]["gas"]]]
    limits = {(each.kind, each.value) for agent in told for each in agent.limits if each.body == "Ontario"}
    assert limits <= {("mean", number(expected["twa_ppm"])), ("short", number(expected["stel_ppm"] or 0))}
