"""Formulas side by side: each figure with its trail, nothing known read as nothing, and a picture that holds."""

import re
from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal
from uuid import uuid4
from xml.etree import ElementTree

import pytest
from PIL import ImageFont

from chemistry.api.comparepicture import drawn
from chemistry.commands import compare
from chemistry.commands.compare import drain
from chemistry.models import Formula
from chemistry.science.comparison import ROWS
from darkroom_service import clock
from darkroom_service.drawing import typeface
from tests.chemistry import brew
from tests.waste import pail
from waste.models import DrainRule

AT = datetime(2026, 11, 20, 11, tzinfo=UTC)
SVG = "{http://www.w3.org/2000/svg}"


def query(*rows):
    return "&".join(f"formula={row.public_id}" for row in rows)


def asked(client, *rows):
    answer = client.get(f"formulas/compare?{query(*rows)}")
    assert answer.status_code == 200, answer.json()
    return answer.json()["items"]


def figure(item, name, at=""):
    found = {each["at"]: each for each in item["figures"] if each["name"] == name}
    return found[at] if at in found else pytest.fail(f"{name} stands at {list(found)}")


@pytest.fixture
def borax(room, cy):
    return brew.published(room).formula


@pytest.fixture
def ascorbate(room, cy):
    return brew.published(room, "phenidone-ascorbate").formula


def test_cost_per_roll_is_the_price_over_the_rolls_with_where_it_comes_from(client_for, ada, room, borax, ascorbate):
    """By hand: 1200 cents for 3.8 L; 235 mL a roll: 74; four rolls a litre: 79; ten with longer times: 32."""
    brew.pack(room, price=1200)
    ours, other = asked(client_for(ada), borax, ascorbate)
    assert figure(ours, "cost_per_roll", "one-shot, any dilution")["value"] == "0.74"
    assert figure(ours, "cost_per_roll", "film, reuse, stock")["value"] == "0.79"
    longer = figure(ours, "cost_per_roll", "film, reuse, stock, longer times")
    assert (longer["value"], longer["unit"]) == ("0.32", "EUR")
    assert "12.00 EUR for 3800" in longer["trail"]
    assert "common practice" in longer["trail"]
    missing = figure(other, "cost_per_roll")
    assert (missing["value"], missing["missing"]) == (None, "No pack with a price was received.")


def test_of_two_packs_the_one_cheapest_by_the_litre_is_reckoned_with(client_for, ada, room, borax, ascorbate):
    """By hand: 3 EUR for 1.9 L beside 24 EUR for 3.8 L, 235 mL a roll: 37 and 148 cents."""
    brew.pack(room, ml="1900", price=300)
    brew.pack(room, price=2400)
    ours, _ = asked(client_for(ada), borax, ascorbate)
    assert figure(ours, "cost_per_roll", "one-shot, any dilution")["value"] == "0.37"


def test_capacity_keeping_and_parts(client_for, ada, room, borax):
    aid = brew.published(room, "washing-aid").formula
    fixer = brew.published(room, "rapid-fixer").formula
    ours, second, third = asked(client_for(ada), borax, aid, fixer)
    assert figure(ours, "rolls_per_litre", "one-shot, any dilution")["value"] == "4.26"
    assert figure(third, "rolls_per_litre", "film, reuse, 1+4")["value"] == "100", "20 a litre at 1+4, by hand"
    assert figure(ours, "minimum_stock")["value"] == "235"
    assert figure(ours, "keeping_full", "stock")["value"] == "6"
    assert "6 months" in figure(ours, "keeping_full", "stock")["trail"]
    assert figure(ours, "keeping_diluted", "1+1")["value"].startswith("nothing promised")
    assert figure(third, "keeping_diluted", "1+9")["value"] == "168"
    assert figure(ours, "form", "as received")["value"].startswith("powder: dust")
    assert [figure(each, "part")["value"].split(":")[0] for each in (ours, second, third)] == ["no", "yes", "yes"]
    assert figure(second, "minimum_stock")["value"] is None
    assert figure(ours, "counting", "reuse")["value"].endswith("lengthened for more")


def test_keeping_sealed_is_read_off_the_latest_dated_pack(client_for, ada, room, borax, ascorbate):
    with clock.fixed(AT):
        packet = brew.pack(room)
    type(packet).objects.filter(pk=packet.pk).update(best_before=date(2028, 11, 20))
    ours, other = asked(client_for(ada), borax, ascorbate)
    assert figure(ours, "keeping_sealed")["value"] == "731", "two years with a leap day"
    assert figure(other, "keeping_sealed")["value"] is None


def test_hazards_at_every_strength_with_what_is_not_known(client_for, ada, room, borax, ascorbate):
    ours, _ = asked(client_for(ada), borax, ascorbate)
    strengths = [each["at"] for each in ours["figures"] if each["name"] == "hazard"]
    assert strengths == ["powder", "stock", "1+1", "1+3"]
    answer = client_for(ada).get(f"formulas/{borax.public_id}/hazards?form=powder").json()
    powder = figure(ours, "hazard", "powder")
    assert all(each["statement"] in powder["value"] for each in answer["classes"])
    weak = figure(ours, "hazard", "1+3")
    assert "allergic reaction" in weak["value"].lower(), "what sensitises is named at every strength"
    assert "M-factor of metol" in weak["missing"]
    assert "gloves" in figure(ours, "protection", "using")["value"]
    assert "powder-handling" in figure(ours, "topic", "powder")["value"]


def test_the_stream_and_the_drain_rule(client_for, ada, bo, room, borax, ascorbate):
    ours, _ = asked(client_for(ada), borax, ascorbate)
    assert figure(ours, "stream")["missing"] == "This darkroom keeps no such stream yet."
    assert figure(ours, "drain")["missing"] == "No drain rule is recorded."
    pail.can(bo, "bw-developer")
    ours, _ = asked(client_for(ada), borax, ascorbate)
    assert (figure(ours, "stream")["value"], figure(ours, "stream")["missing"]) == ("bw-developer", "")


def test_what_the_drain_rule_says_is_read_off_the_rule():
    silver = {"cas": "7440-22-4", "name": "silver", "mg_per_l": "5"}
    rule = DrainRule(
        number=2, approved_by="the town's sewer office", reference="letter of 3 March", streams=["rinse"],
        daily_volume=100_000, ph_low="6.50", ph_high="9.50", dilution=20, limits=[silver],
    )  # fmt: skip
    value, trail, missing = drain(rule, ["rinse"])
    assert (
        value == "allowed within 10000 mL a day, pH 6.50 to 9.50, at least 20 times the volume, silver 5 mg/L at most"
    )
    assert trail == "drain rule 2, letter of 3 March, approved by the town's sewer office"
    assert "judged when it is released" in missing
    assert drain(rule, ["fixer"])[0] == "not allowed: the rule does not name its stream"
    assert drain(rule, [])[0] == "not allowed: the rule does not name its stream"
    assert drain(None, ["rinse"])[0] is None


def test_every_figure_has_a_trail_or_says_what_is_missing_and_none_is_a_score(client_for, ada, room, borax, ascorbate):
    brew.pack(room)
    toner = asked(client_for(ada), borax, ascorbate)
    for item in toner:
        names = [each["name"] for each in item["figures"]]
        assert set(names) == set(ROWS)
        assert names == sorted(names, key=list(ROWS).index)
        for each in item["figures"]:
            assert each["trail"] or each["missing"], each
            assert each["value"] is not None or each["missing"], each


def test_what_is_no_comparison_is_refused_by_name(client_for, ada, room, elsewhere, borax, ascorbate):
    client, foreign = client_for(ada), brew.published(elsewhere).formula
    for wanted, code in (
        ("", "comparison.size"),
        (query(borax), "comparison.size"),
        (query(borax, borax), "formula.twice"),
        (f"{query(borax)}&formula={uuid4()}", "formula.unknown"),
        (query(borax, foreign), "formula.unknown"),
        (f"{query(borax)}&formula=all", "shape.malformed"),
        (f"{query(borax, ascorbate)}&best=true", "shape.malformed"),
    ):
        for place in ("formulas/compare", "formulas/compare.svg"):
            answer = client.get(f"{place}?{wanted}")
            assert answer.status_code == 400, wanted
            if not code.startswith("shape"):
                assert answer.json()["code"] == code
    draft = Formula.objects.create(darkroom=room, code="draft", name="A draft")
    assert client.get(f"formulas/compare?{query(borax, draft)}").json()["code"] == "formula.unpublished"


def texts(svg):
    """Yield (text, x in mm, size in mm, bold) of every line in a picture."""
    for each in ElementTree.fromstring(svg).iter(f"{SVG}text"):
        for line in each:
            yield line.text or "", float(line.get("x")), float(each.get("font-size")), each.get("font-weight") == "bold"


def test_the_picture_holds_the_numbers_as_text_and_nothing_runs_over(client_for, ada, room, borax, ascorbate):
    """Widths are measured by a general imaging library in the same face; the picture's own measure is not asked."""
    brew.pack(room)
    Formula.objects.filter(pk=borax.pk).update(name='<script>alert("&")</script> ' + "W" * 90)
    answer = client_for(ada).get(f"formulas/compare.svg?{query(borax, ascorbate)}")
    assert answer["Content-Type"].startswith("image/svg+xml")
    svg = answer.content.decode()
    assert "<script" not in svg
    page = ElementTree.fromstring(svg)
    lines = list(texts(svg))
    assert any("0.74 EUR" in text for text, *_ in lines)
    assert any("not known" in text for text, *_ in lines)
    fonts = {bold: ImageFont.truetype(str(typeface.FILES[weight]), 1000) for bold, weight in
             ((False, typeface.Weight.REGULAR), (True, typeface.Weight.BOLD))}  # fmt: skip
    edges, width = [46, 110, 174], float(page.get("viewBox").split()[2])
    for text, x, size, bold in lines:
        end = x + fonts[bold].getlength(text, features=["-kern", "-liga"]) * size / 1000
        edge = width if "Calculated" in text else min(edge for edge in edges if edge > x)
        assert end <= edge + 0.01, text
    for box in page.iter(f"{SVG}rect"):
        assert float(box.get("x", 0)) + float(box.get("width")) <= width
    assert set(re.findall(r"#[0-9a-f]{3,6}", svg)) == {"#000", "#fff"}


def test_no_hazard_and_nothing_not_known_is_cut_off_the_picture(room, borax, ascorbate):
    """DESIGN's rule: what is missing is said. Thirty ingredients without data take many lines."""
    found = compare.compared(room, [borax.public_id, ascorbate.public_id], clock.now())
    unheard = " ".join(f"Salt number {number} of a long list (9 %): no data for skin, eye." for number in range(30))
    figures = tuple(replace(each, missing=unheard) if each.name == "hazard" else each for each in found[0].figures)
    told = " ".join(text for text, *_ in texts(drawn([replace(found[0], figures=figures), found[1]])))
    assert all(f"Salt number {number} of" in told for number in range(30))
    assert "…" not in told


def test_a_sentence_ends_once_in_the_table_and_in_the_picture(client_for, ada, room, borax, ascorbate):
    ours, _ = asked(client_for(ada), borax, ascorbate)
    assert "May produce an allergic reaction; EUH210" in figure(ours, "hazard", "stock")["value"]
    svg = client_for(ada).get(f"formulas/compare.svg?{query(borax, ascorbate)}").content.decode()
    told = " ".join(text for text, *_ in texts(svg))
    assert ".." not in told
    assert ".;" not in told


def test_a_bar_is_as_long_as_its_number(client_for, ada, room, borax, ascorbate):
    svg = client_for(ada).get(f"formulas/compare.svg?{query(borax, ascorbate)}").content.decode()
    page = ElementTree.fromstring(svg)
    bars = [Decimal(each.get("width")) for each in page.iter(f"{SVG}rect") if each.get("fill") == "#000"]
    assert Decimal(60) in bars
    assert (Decimal(60) * 100 / 235).quantize(Decimal("0.01")) in bars, "least stock: 100 mL beside 235 mL"


def test_the_queries_do_not_grow_with_the_formulas(
    client_for, ada, room, borax, ascorbate, django_assert_max_num_queries
):
    others = [brew.published(room, code).formula for code in ("mq-carbonate", "plain-fixer", "rapid-fixer")]
    client = client_for(ada)
    with django_assert_max_num_queries(12) as few:
        asked(client, borax, ascorbate)
    with django_assert_max_num_queries(len(few)):
        asked(client, borax, ascorbate, *others)
