"""The computed hazards of a formula, over HTTP, as the people of the room ask for them."""

import pytest

from tests.chemistry import brew


@pytest.fixture
def asks(ada, client_for):
    formula = brew.published(ada.darkroom).formula.public_id
    speaks = client_for(ada)
    return lambda address, status=200: read(speaks, f"formulas/{formula}/{address}", status)


def read(speaks, address, status):
    answer = speaks.get(address)
    assert answer.status_code == status, answer.content
    return answer.json()


def codes(found):
    return {each["code"] for each in found["statements"]}


def test_the_powder_carries_what_the_stock_no_longer_does(asks):
    """Regulation (EC) 1272/2008 applied to an MQ-borax set: powder H341 H351 H318 H317; stock EUH208. Computed."""
    powder, stock = asks("hazards?form=powder"), asks("hazards?form=stock")
    assert powder["signal"] == "Danger"
    assert {"H341", "H351", "H318", "H317"} <= codes(powder)
    assert not {"H341", "H351"} & codes(stock)
    assert {"EUH208"} <= {each["code"].split()[0] for each in stock["supplements"]}


def test_every_class_says_by_which_rule_and_sum(asks):
    for each in asks("hazards?form=powder")["classes"]:
        assert each["rule"]
        assert each["verdict"].endswith(each["code"])


def test_gloves_and_eyes_are_asked_for_at_every_strength(asks):
    """The floor no calculation lowers: eye protection and gloves for developer."""
    for form in ("powder", "stock", "1%2B1", "1%2B3"):
        for each in asks(f"hazards?form={form}")["protections"]:
            assert any("glove" in worn for worn in each["worn"]), (form, each)


def test_what_is_not_known_is_said(asks):
    stock = asks("hazards")
    assert stock["known"] is (not stock["missing"])
    assert "Calculated, not tested" in stock["prevails"]


def test_side_by_side_runs_from_powder_to_the_weakest(asks):
    assert [each["form"] for each in asks("hazards/compare")["items"]] == ["powder", "stock", "1+1", "1+3"]


def test_a_strength_that_is_none_is_refused_with_its_place(asks):
    assert asks("hazards?form=1:3", 400)["errors"][0]["pointer"] == "/form"
