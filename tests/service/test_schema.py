"""The API describes itself, truly and completely, and the page that shows it needs no other host."""

import json
import re

import pytest
import yaml
from django.core.management import CommandError, call_command
from openapi_spec_validator import validate

from darkroom_service.management.commands import schema as command

# What only computes writes nothing; reading, finishing or muting a notice twice is doing it once: no ledger row.
WITHOUT_A_KEY = [
    "/api/v1/darkrooms/{slug}/air/clearance",
    "/api/v1/darkrooms/{slug}/air/dust",
    "/api/v1/darkrooms/{slug}/air/sulfite-and-acid",
    "/api/v1/darkrooms/{slug}/assessments/bleach",
    "/api/v1/darkrooms/{slug}/assessments/compatibility",
    "/api/v1/darkrooms/{slug}/assessments/discharge",
    "/api/v1/darkrooms/{slug}/assessments/neutralisation",
    "/api/v1/darkrooms/{slug}/assessments/oxygen-demand",
    "/api/v1/darkrooms/{slug}/assessments/silver",
    "/api/v1/darkrooms/{slug}/assessments/stop-into-developer",
    "/api/v1/darkrooms/{slug}/hazards",
    "/api/v1/darkrooms/{slug}/notice-kinds/{kind}/muting",
    "/api/v1/darkrooms/{slug}/notices/{id}/completion",
    "/api/v1/darkrooms/{slug}/notices/{id}/reading",
    "/api/v1/darkrooms/{slug}/notices/{id}/snooze",
]
METHODS = {"get", "post", "put", "patch", "delete"}


@pytest.fixture(scope="module")
def text():
    return command.description()


@pytest.fixture(scope="module")
def described(text):
    return yaml.load(text, yaml.CSafeLoader)


def operations(described):
    return [
        (method, address, operation)
        for address, item in described["paths"].items()
        for method, operation in item.items()
        if method in METHODS
    ]


def headers(operation):
    return {parameter["name"] for parameter in operation.get("parameters", ()) if parameter["in"] == "header"}


def test_it_is_valid_openapi_3_1(described):
    assert described["openapi"].startswith("3.1")
    validate(described)


def test_every_operation_may_answer_with_a_problem(described):
    assert operations(described)
    for _, address, operation in operations(described):
        assert {"4XX", "5XX"} <= operation["responses"].keys(), address
    problem = described["components"]["responses"]["Problem"]
    assert list(problem["content"]) == ["application/problem+json"]


def test_every_act_inside_a_darkroom_needs_a_key(described):
    posts = [(address, op) for method, address, op in operations(described) if method == "post" and "{slug}" in address]
    assert posts
    keyless = [address for address, operation in posts if "Idempotency-Key" not in headers(operation)]
    assert keyless == WITHOUT_A_KEY


def test_every_edit_needs_the_version_that_was_read(described):
    for method, address, operation in operations(described):
        assert (method == "patch") == ("If-Match" in headers(operation)), address


def test_no_edit_is_a_put(described):
    assert not [address for method, address, _ in operations(described) if method == "put"]


def test_names_of_operations_are_unique(described):
    names = [operation["operationId"] for _, _, operation in operations(described)]
    assert len(names) == len(set(names))


def test_amounts_are_strings_with_a_grammar(described):
    text = json.dumps(described)
    assert '"float"' not in text
    assert '"double"' not in text


def test_the_committed_copy_is_the_present_one(text):
    assert command.COPY.read_bytes() == text, "run: python -m darkroom_service schema --write"


def test_a_copy_that_differs_is_refused(text, tmp_path, monkeypatch):
    monkeypatch.setattr(command, "COPY", tmp_path / "openapi.yaml")
    monkeypatch.setattr(command, "description", lambda: text)
    with pytest.raises(CommandError, match="schema --write"):
        call_command("schema", "--check")
    call_command("schema", "--write")
    call_command("schema", "--check")
    command.COPY.write_text(command.COPY.read_text() + "x: 1\n")
    with pytest.raises(CommandError, match="schema --write"):
        call_command("schema", "--check")


def test_it_is_served_as_yaml_and_as_json(client):
    as_yaml = client.get("/api/v1/schema")
    as_json = client.get("/api/v1/schema", HTTP_ACCEPT="application/vnd.oai.openapi+json")
    assert as_yaml.status_code == as_json.status_code == 200
    assert yaml.load(as_yaml.content, yaml.CSafeLoader) == json.loads(as_json.content)


def test_the_docs_page_asks_no_other_host_and_has_nothing_inline(client):
    page = client.get("/api/v1/docs")
    assert page.status_code == 200
    text = page.content.decode()
    assert not re.findall(r'(?:src|href)="(?:https?:)?//', text)
    assert "<style" not in text
    assert not re.findall(r"<script(?![^>]*\ssrc=)", text)
    script = client.get("/api/v1/docs?script=")
    assert script.status_code == 200
    assert script["Content-Type"].startswith("application/javascript")
    assert "http" not in re.sub(r'"http"|scheme', "", script.content.decode()).split("SwaggerUIBundle({")[1]


@pytest.mark.parametrize("code", ["batch.exhausted", "sign_off.missing", "key.reused"])
def test_the_address_of_a_problem_explains_how_to_read_it(client, code):
    page = client.get(f"/problems/{code}")
    assert page.status_code == 200
    assert code in page.content.decode()


@pytest.mark.parametrize("code", ["<script>", "Batch", "a" * 200, "..", "a.b.c.d"])
def test_what_is_no_code_has_no_page(client, code):
    assert client.get(f"/problems/{code}").status_code == 404
