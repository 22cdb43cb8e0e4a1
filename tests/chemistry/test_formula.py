"""Formulas: the starter set, drafts, publication, and what never changes afterwards."""

import json
from dataclasses import replace
from uuid import uuid4

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import DatabaseError, connection, transaction

from accounts.acts import Role
from accounts.models import Entry
from chemistry.commands import starter
from chemistry.models import Formula, FormulaVersion
from tests import make
from tests.chemistry import brew

RULES = {
    "kind": "fixer", "process": "bw", "form": "liquid", "composition": [], "dilutions": ["1+4"], "capacity": [],
    "keeping": {"full_months": 12, "part_full_months": 6, "tested_days": 14},
}  # fmt: skip
SOURCES = {"/keeping": "common practice, no source"}


def draft(client, **changes):
    return client.post("formulas", {"code": "our-fixer", "name": "Our fixer", "rules": RULES, **changes})


@pytest.fixture
def starters(monkeypatch):
    """The starter set, as a copy that a test may change."""
    known = dict(starter.starters())
    monkeypatch.setattr(starter, "starters", lambda: known)
    return known


def test_an_instructor_copies_the_starter_set_published_with_its_sources(client_for, cy, ada):
    made = client_for(cy).post("formulas/starter")
    assert made.status_code == 201
    assert {each["state"] for each in made.json()["items"]} == {"published"}
    read = client_for(ada).get("formulas").json()["items"]
    developer = next(each for each in read if each["code"] == "mq-borax")
    assert developer["published"]["number"] == 1
    assert developer["published"]["rules"]["minimum_stock_ml"] == "235"  # common practice, no source
    assert developer["published"]["sources"]["/minimum_stock_ml"].startswith("common practice")
    assert len(read) == len(starter.starters()) == len(client_for(ada).get("formulas/starter").json()["items"])


def test_copying_again_adds_nothing(client_for, cy):
    client = client_for(cy)
    first, second = client.post("formulas/starter"), client.post("formulas/starter")
    assert first.json() == second.json()
    assert FormulaVersion.objects.count() == len(starter.starters())


def test_a_starter_that_changed_becomes_the_next_published_version(client_for, cy, starters):
    client = client_for(cy)
    client.post("formulas/starter", {"codes": ["plain-fixer", "rapid-fixer"]})
    old = starters["plain-fixer"]
    starters["plain-fixer"] = replace(old, sources={**old.sources, "/keeping": "from memory"})
    answer = client.post("formulas/starter", {"codes": ["plain-fixer", "rapid-fixer"]}).json()["items"]
    assert [(each["number"], each["state"]) for each in answer] == [(2, "published"), (1, "published")]


def test_a_changed_starter_comes_as_a_draft_where_people_have_published_their_own_figures(client_for, cy, bo, starters):
    client = client_for(cy)
    made = client.post("formulas/starter", {"codes": ["plain-fixer"]}).json()["items"][0]
    rules = starters["plain-fixer"].rules
    client_for(bo).post(f"formulas/{made['formula']}/versions", {"rules": rules})
    assert client.post(f"formulas/{made['formula']}/versions/2/publication").status_code == 200
    starters["plain-fixer"] = replace(starters["plain-fixer"], sources={"/keeping": "from memory"})
    answer = client.post("formulas/starter", {"codes": ["plain-fixer"]}).json()["items"][0]
    assert (answer["number"], answer["state"]) == (3, "draft")


def test_an_unknown_starter_is_refused_at_its_place_and_nothing_is_copied(client_for, cy):
    answer = client_for(cy).post("formulas/starter", {"codes": ["mq-borax", "wonder-soup"]})
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/codes/1")
    assert "mq-borax" in answer.json()["facts"]["codes"]
    assert not Formula.objects.exists()


@pytest.mark.parametrize(("who", "status"), [("ada", 403), ("bo", 403), ("di", 403), ("cy", 201), ("outsider", 404)])
def test_only_an_instructor_copies_the_starter_set(request, client_for, room, who, status):
    person = request.getfixturevalue(who)
    answer = client_for(person).post(f"/api/v1/darkrooms/{room.slug}/formulas/starter", {"codes": ["mq-borax"]})
    assert answer.status_code == status


@pytest.mark.parametrize(("who", "status"), [("ada", 403), ("bo", 201), ("di", 403), ("cy", 201), ("outsider", 404)])
def test_technicians_and_instructors_draft(request, client_for, room, who, status):
    client = client_for(request.getfixturevalue(who))
    client.room = f"/api/v1/darkrooms/{room.slug}/"
    assert draft(client).status_code == status
    assert Formula.objects.filter(code="our-fixer").exists() is (status == 201)


def test_the_loader_run_twice_writes_one_entry_and_a_stranger_is_refused(room, cy, capsys):
    entries = Entry.objects.filter(darkroom=room).count()
    for _ in range(2):
        call_command("load_formulas", room.slug, cy.person.username, "mq-borax", "stop-citric")
    assert Entry.objects.filter(darkroom=room).count() == entries + 1
    assert capsys.readouterr().out == "mq-borax: version 1, published\nstop-citric: version 1, published\n" * 2
    with pytest.raises(CommandError, match="no member"):
        call_command("load_formulas", room.slug, "nobody")


def test_the_loader_refuses_in_words_what_the_person_may_not_do(room, bo):
    with pytest.raises(CommandError, match="instructor"):
        call_command("load_formulas", room.slug, bo.person.username)


def test_a_draft_is_changed_with_if_match_and_published_by_somebody_else(client_for, bo, cy):
    client = client_for(bo)
    made = draft(client, sources=SOURCES).json()
    address = f"formulas/{made['formula']}/versions/1"
    tag = client.get(address).headers["ETag"]
    longer = {**RULES, "keeping": {**RULES["keeping"], "full_months": 18}}
    changed = client.patch(address, {"rules": longer}, etag=tag)
    assert (changed.status_code, changed.json()["rules"]["keeping"]["full_months"]) == (200, 18)
    assert changed.json()["sources"] == SOURCES
    assert client.patch(address, {"rules": RULES}, etag=tag).status_code == 412
    assert client.get(f"formulas/{made['formula']}").json()["published"] is None
    assert client_for(cy).post(f"{address}/publication").status_code == 200
    read = client.get(f"formulas/{made['formula']}").json()
    assert (read["published"]["number"], read["draft"]) == (1, None)


def test_a_published_version_is_never_changed_and_the_next_one_is_drafted(client_for, bo, cy):
    client = client_for(bo)
    made = draft(client).json()
    address = f"formulas/{made['formula']}/versions"
    assert client.post(address, {"rules": RULES}).json()["code"] == "formula.draft_open"
    client_for(cy).post(f"{address}/1/publication")
    refused = client.patch(f"{address}/1", {"rules": RULES})
    assert (refused.status_code, refused.json()["code"]) == (409, "formula.published")
    assert client_for(cy).post(f"{address}/1/publication").status_code == 409
    assert client.post(address, {"rules": RULES}).json()["number"] == 2
    assert [each["number"] for each in client.get(address).json()["items"]] == [2, 1]


def test_an_instructor_does_not_publish_an_own_draft_where_another_can(client_for, cy, di):
    client = client_for(cy)
    address = f"formulas/{draft(client).json()['formula']}/versions/1/publication"
    make.member(di, Role.INSTRUCTOR, name="Ida Ihde")
    refused = client.post(address)
    assert (refused.status_code, refused.json()["code"]) == (403, "formula.own_draft")


def test_whoever_changed_a_draft_last_counts_as_its_drafter(client_for, bo, cy, di):
    make.member(di, Role.INSTRUCTOR, name="Ida Ihde")
    address = f"formulas/{draft(client_for(bo)).json()['formula']}/versions/1"
    client_for(cy).patch(address, {"sources": SOURCES})
    assert client_for(cy).post(f"{address}/publication").json()["code"] == "formula.own_draft"


def test_the_only_instructor_publishes_an_own_draft(client_for, cy):
    client = client_for(cy)
    address = f"formulas/{draft(client).json()['formula']}/versions/1/publication"
    assert client.post(address).json()["state"] == "published"


@pytest.mark.parametrize(("who", "status"), [("ada", 403), ("bo", 403), ("di", 403), ("outsider", 404)])
def test_nobody_but_an_instructor_publishes(request, client_for, bo, room, who, status):
    made = draft(client_for(bo)).json()
    address = f"/api/v1/darkrooms/{room.slug}/formulas/{made['formula']}/versions/1/publication"
    assert client_for(request.getfixturevalue(who)).post(address).status_code == status
    assert FormulaVersion.objects.get().state == "draft"


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"rules": {**RULES, "dilutions": ["1:4"]}}, "/rules/dilutions/0"),
        ({"rules": {**RULES, "keeping": {**RULES["keeping"], "full_months": "6"}}}, "/rules/keeping/full_months"),
        ({"rules": {**RULES, "minimum_stock_ml": "9999999"}}, "/rules/minimum_stock_ml"),
        ({"rules": {**RULES, "wonder": True}}, "/rules/wonder"),
        ({"rules": {"kind": "fixer"}}, "/rules/process"),
        ({"sources": {"/capacity/3": "from memory"}}, "/sources/~1capacity~13"),
        ({"sources": {"keeping": "from memory"}}, "/sources/keeping"),
        ({"rules": {**RULES, "required_topics": ["ppe", "juggling"]}}, "/rules/required_topics/1"),
        ({"code": "Our Fixer"}, "/code"),
        ({"code": "our.fixer"}, "/code"),
        ({"rules": []}, "/rules"),
        ({"extra": 1}, "/extra"),
    ],
)
def test_unsound_figures_are_refused_at_their_place_and_nothing_is_made(client_for, bo, changes, pointer):
    answer = draft(client_for(bo), **changes)
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, pointer)
    assert not Formula.objects.exists()


def test_a_source_may_name_any_figure_or_the_whole(client_for, bo):
    rules = {**RULES, "composition": [{"name": "hypo", "cas": "7772-98-7", "g_per_l": "200"}]}
    sources = {"": "our own notes", "/composition/0/g_per_l": "from memory"}
    assert draft(client_for(bo), rules=rules, sources=sources).status_code == 201


def test_a_code_that_is_taken_is_refused(client_for, bo):
    draft(client_for(bo))
    again = draft(client_for(bo))
    assert (again.status_code, again.json()["code"]) == (409, "formula.code_taken")


def test_the_same_key_drafts_once_and_another_body_under_it_is_refused(client_for, bo):
    client, key = client_for(bo), uuid4()
    body = {"code": "our-fixer", "name": "Our fixer", "rules": RULES}
    first, second = client.post("formulas", body, key), client.post("formulas", body, key)
    assert (first.content, second.headers["Idempotency-Replayed"]) == (second.content, "true")
    assert client.post("formulas", {**body, "name": "Other"}, key).json()["code"] == "key.reused"
    assert Formula.objects.count() == 1


def test_another_darkrooms_formula_does_not_exist(client_for, outsider, elsewhere, room, cy):
    theirs = brew.published(elsewhere).formula
    client = client_for(cy)
    for path in (f"formulas/{theirs.public_id}", f"formulas/{theirs.public_id}/versions/1"):
        assert client.get(path).content == client.get(f"formulas/{uuid4()}").content
    assert client.get(f"formulas/{theirs.public_id}").status_code == 404
    assert (
        client.get(f"formulas/{brew.published(room).formula.public_id}/versions/99999999999999999999").status_code
        == 404
    )


def test_the_list_asks_a_constant_number_of_queries(client_for, cy, django_assert_max_num_queries):
    client = client_for(cy)
    client.post("formulas/starter")
    with django_assert_max_num_queries(5):  # token, membership, formulas, versions, and one to spare
        assert len(client.get("formulas").json()["items"]) > 5


@pytest.mark.parametrize(
    "statement", ["UPDATE {} SET rules_data = '{{}}' WHERE id = %s", "DELETE FROM {} WHERE id = %s"]
)
def test_the_database_itself_refuses_to_change_a_published_version(room, cy, statement):
    version = brew.published(room)
    table = FormulaVersion._meta.db_table
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement.format(table), [version.pk])
    assert json.loads(json.dumps(make.refreshed(version).rules_data))["kind"] == "developer"
