"""The cost of a formula by its packs, and the table of formats."""

import pytest

from tests.chemistry import brew


@pytest.fixture
def packs(room, bo, cy):
    """A packet for 3.8 L at 12, and one for 5 L at 20."""
    return brew.pack(room, ml="3800", price=1200), brew.pack(room, ml="5000", price=2000)


def cost(client, formula):
    answer = client.get(f"formulas/{formula.public_id}/cost")
    assert answer.status_code == 200, answer.json()
    return answer.json()


def test_the_smaller_packet_is_a_fifth_cheaper_by_the_litre(packs, ada, client_for):
    found = cost(client_for(ada), packs[0].formula_version.formula)
    # 12 / 3.8 = 3.16 and 20 / 5 = 4.00 a litre, so 21.1 % less: arithmetic.
    assert [each["latest"]["per_litre"]["minor"] for each in found["sizes"]] == [316, 400]
    assert found["cheaper"] == [
        {
            "makes": {"value": "3800.0", "unit": "mL"},
            "than": {"value": "5000.0", "unit": "mL"},
            "percent": "21.1",
        }
    ]


def test_a_roll_costs_its_stock_one_shot_and_its_part_of_a_litre_in_reuse(packs, ada, client_for):
    latest = cost(client_for(ada), packs[0].formula_version.formula)["sizes"][0]["latest"]
    rules = packs[0].formula_version.rules
    assert [each["dilution"] for each in latest["one_shot"]] == list(rules.dilutions)
    one = next(each for each in latest["one_shot"] if each["dilution"] == "1+1")
    # 235 mL of 3800 mL at 12.00 are 74.2, in a tank of 470 mL.
    # Reused, 4 rolls a litre, or 10 compensated (common practice): arithmetic.
    assert (one["stock"]["value"], one["tank"]["value"], one["per_roll"]["minor"]) == ("235.0", "470.0", 74)
    film = [each for each in latest["reuse"] if (each["material"], each["dilution"]) == ("film", "stock")]
    assert {each["compensated"]: each["per_roll"]["minor"] for each in film} == {False: 79, True: 32}


def test_the_latest_and_the_cheapest_pack_of_a_size_are_told_apart(packs, room, ada, client_for):
    latest = brew.pack(room, ml="3800", price=1500)
    size = cost(client_for(ada), latest.formula_version.formula)["sizes"][0]
    assert (size["latest"]["pack"], size["latest"]["price"]["minor"]) == (str(latest.public_id), 1500)
    assert (size["cheapest"]["pack"], size["cheapest"]["price"]["minor"]) == (str(packs[0].public_id), 1200)


def test_the_cost_takes_the_same_number_of_queries_however_many_packs(
    packs, room, ada, client_for, django_assert_num_queries
):
    client, formula = client_for(ada), packs[0].formula_version.formula
    for _ in range(2):
        # Who asks (token with person, membership), the formula, its versions, the packs.
        with django_assert_num_queries(5):
            cost(client, formula)
        brew.pack(room, ml="1000", price=900)


def test_a_formula_without_packs_has_no_cost_and_one_of_another_room_is_not_there(room, cy, ada, outsider, client_for):
    formula = brew.published(room).formula
    assert cost(client_for(ada), formula)["sizes"] == []
    assert client_for(outsider).get(f"formulas/{formula.public_id}/cost").status_code == 404


def test_formats_are_listed_by_material(room, ada, client_for):
    both = client_for(ada).get("formats").json()["items"]
    film = client_for(ada).get("formats?material=film").json()["items"]
    paper = client_for(ada).get("formats?material=paper").json()["items"]
    assert len(film) + len(paper) == len(both)
    assert {each["material"] for each in paper} == {"paper"}
    # One 135-36 is one roll unit: common practice. 35 mm x 1620 mm: exact arithmetic.
    first = next(each for each in film if each["code"] == "135-36")
    assert (first["load"], first["load_units"], first["area"]["value"]) == ("1.0000", 3600, "567.000")
    assert first["source"]
    assert client_for(ada).get("formats?material=glass").status_code == 400
