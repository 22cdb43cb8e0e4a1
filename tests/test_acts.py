"""Who may do what, tried on every route there is: a new route or act without its right turns this red."""

import re
import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from django.urls import URLPattern, URLResolver, get_resolver
from rest_framework.test import APIClient

from accounts.acts import GRANTS, Act, Role, table
from accounts.commands import membership
from accounts.gate import ActView
from accounts.models import Entry
from tests import make

METHODS = ("GET", "POST", "PUT", "PATCH", "DELETE")
INSIDE = "api/v1/darkrooms/<slug:slug>"
DEVELOPERS = Path(__file__).parent.parent / "DEVELOPERS.md"
# Open to everybody by design: signing in, and the description of the API.
OPEN = {("api/v1/tokens", "POST"), ("api/v1/schema", "GET"), ("api/v1/docs", "GET")}
# What fills the other places of an address.
NOBODYS = {
    "uuid": lambda: str(uuid.uuid4()),
    "int": lambda: "4711",
    "slug": lambda: "no-such-thing",
    "str": lambda: "no-such-thing",
}


@dataclass(frozen=True)
class Route:
    """One method of one address."""

    pattern: str
    method: str
    view: Any

    @property
    def act(self) -> Act | None:
        return getattr(self.view, "acts", {}).get(self.method)

    def path(self, slug: str) -> str:
        """Return the address in a darkroom, of things that nobody has."""
        return "/" + re.sub(r"<(\w+):\w+>", lambda part: NOBODYS[part[1]](), self.pattern.replace("<slug:slug>", slug))

    def send(self, client: APIClient, slug: str) -> Any:
        """Send a request of no content, with all the headers a well-made one has."""
        headers = {"HTTP_IDEMPOTENCY_KEY": str(uuid.uuid4()), "HTTP_IF_MATCH": "*"}
        body = {} if self.method == "GET" else {"data": "{}", "content_type": "application/json"}
        return client.generic(self.method, self.path(slug), **body, **headers)


def routes(patterns: Any = None, prefix: str = "") -> Iterator[Route]:
    """Walk the whole table of addresses."""
    for pattern in get_resolver().url_patterns if patterns is None else patterns:
        address = f"{prefix}{pattern.pattern}"
        if isinstance(pattern, URLResolver):
            yield from routes(pattern.url_patterns, address)
        elif isinstance(pattern, URLPattern) and hasattr(pattern.callback, "view_class"):
            view = pattern.callback.view_class
            yield from (Route(address, method, view) for method in METHODS if hasattr(view, method.lower()))


API = [route for route in routes() if route.pattern.startswith("api/")]
ROOMS = [route for route in API if route.pattern.startswith(INSIDE)]


def named(route: Route) -> str:
    return f"{route.method} {route.pattern.removeprefix('api/v1/')}"


every_room_route = pytest.mark.parametrize("route", ROOMS, ids=named)


def test_every_act_has_a_grant_and_the_table_is_in_the_order_of_the_acts():
    assert list(GRANTS) == list(Act)
    assert all(grant.roles for grant in GRANTS.values())


def test_the_acts_stand_in_alphabetical_order():
    assert list(Act) == sorted(Act)


def test_the_table_in_the_developers_guide_is_the_one_in_force():
    assert table() in DEVELOPERS.read_text()


def test_the_table_says_yes_where_a_role_may_and_names_reports():
    rows = {line.split(" | ")[0].strip("| "): line for line in table().splitlines()}
    assert rows["`batch:withdraw`"] == "| `batch:withdraw` | - | yes | yes | yes | a report |"


@every_room_route
def test_a_route_inside_a_darkroom_states_its_act(route):
    assert issubclass(route.view, ActView)
    assert isinstance(route.act, Act)


@pytest.mark.parametrize("view", {route.view for route in ROOMS}, ids=lambda view: view.__name__)
def test_a_view_states_acts_for_its_own_methods_only(view):
    assert set(view.acts) == {method for method in METHODS if hasattr(view, method.lower())}


@pytest.mark.parametrize("route", [route for route in API if (route.pattern, route.method) not in OPEN], ids=named)
def test_without_credentials_every_route_asks_for_them(db, route):
    answer = route.send(APIClient(), "nowhere")
    assert (answer.status_code, answer["Content-Type"]) == (401, "application/problem+json")
    assert answer["WWW-Authenticate"] == "Token"


@every_room_route
def test_to_an_outsider_a_darkroom_is_like_one_that_is_not_there(client_for, outsider, room, route):
    client, before = client_for(outsider), Entry.objects.count()
    foreign, absent = route.send(client, room.slug), route.send(client, "no-such-room")
    assert (foreign.status_code, absent.status_code) == (404, 404)
    assert foreign.content == absent.content
    assert Entry.objects.count() == before


@pytest.mark.parametrize("route", [route for route in ROOMS if "<uuid:" in route.pattern], ids=named)
def test_what_nobody_has_is_not_found_in_ones_own_darkroom_either(client_for, di, route):
    """Somebody who holds every role asks, so that only the thing itself is missing."""
    everything = make.member(di, Role.TECHNICIAN, Role.INSTRUCTOR)
    membership.edit(make.ask(di), everything, unchanged=lambda _: None, roles=frozenset(Role))
    answer = route.send(client_for(everything), di.darkroom.slug)
    assert (answer.status_code, answer.json()["code"]) == (404, "resource.absent")


LACKING = [
    (route, role)
    for route in ROOMS
    for role in Role
    if route.act and role not in GRANTS[route.act].roles and not GRANTS[route.act].report
]


@pytest.mark.parametrize(
    ("route", "role"), LACKING, ids=lambda value: value if isinstance(value, str) else named(value)
)
def test_a_role_without_the_grant_is_refused_with_what_is_missing(client_for, di, route, role):
    """Asked with an empty body about nothing: the right is judged first, so that a refusal shows no shape either."""
    only = make.member(di)
    membership.edit(make.ask(di), only, unchanged=lambda _: None, roles=frozenset({role}))
    answer = route.send(client_for(only), di.darkroom.slug)
    assert (answer.status_code, answer.json()["code"]) == (403, "act.forbidden")
    assert answer.json()["facts"]["roles"] == sorted(GRANTS[route.act].roles)
