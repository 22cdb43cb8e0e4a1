"""The cast, in one darkroom in Berlin's time zone, and ways to speak as one of them."""

import os
from collections.abc import Callable, Iterator
from datetime import date
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import connection, connections
from django.test.utils import setup_databases, teardown_databases
from hypothesis import settings
from rest_framework.test import APIClient

from accounts.acts import Role
from accounts.models import Darkroom, Membership, Person, Token
from tests import make

# The same examples each time, so that a change is judged by itself; DARKROOM_EXPLORE=1 looks for new ones.
settings.register_profile("steady", derandomize=True)
if not os.environ.get("DARKROOM_EXPLORE"):
    settings.load_profile("steady")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out what only PostgreSQL can show when the tests run on SQLite."""
    if connection.vendor == "postgresql":
        return
    left_out = [item for item in items if item.get_closest_marker("postgres")]
    items[:] = [item for item in items if item not in left_out]
    config.hook.pytest_deselected(items=left_out)


@pytest.fixture(scope="session")
def django_db_setup(
    request: pytest.FixtureRequest, django_test_environment: None, django_db_blocker: Any, django_db_keepdb: bool
) -> Iterator[None]:
    """Make the test database whenever one is asked for.

    The plugin's own fixture makes none when every chosen test commits, and such tests would meet the real database.
    """
    told: Any = {"verbosity": request.config.option.verbose, "interactive": False, "keepdb": django_db_keepdb}
    with django_db_blocker.unblock():
        made = setup_databases(**told, serialized_aliases=())
    yield
    with django_db_blocker.unblock():
        teardown_databases(made, verbosity=told["verbosity"], keepdb=django_db_keepdb)


class Client(APIClient):
    """Speaks as one person. A path without a leading slash lies inside their darkroom."""

    room = ""

    def generic(self, method: str, path: str, *args: Any, **options: Any) -> Any:
        """Send a request to the full address."""
        return super().generic(method, path if path.startswith("/") else f"{self.room}{path}", *args, **options)

    def post(self, path: str, body: Any = None, key: UUID | str | None = None, **options: Any) -> Any:
        """Send a POST, under a key of its own unless one is given."""
        options.setdefault("HTTP_IDEMPOTENCY_KEY", str(key or uuid4()))
        return super().post(path, {} if body is None else body, format="json", **options)

    def patch(self, path: str, body: Any = None, *, etag: str = "*", **options: Any) -> Any:
        """Send a PATCH, on whatever version there is unless an ETag is given."""
        return super().patch(path, {} if body is None else body, format="json", HTTP_IF_MATCH=etag, **options)


@pytest.fixture
def client_for() -> Callable[[Person | Membership], Client]:
    """Return a way to speak as somebody by a token of theirs."""

    def speak(who: Person | Membership) -> Client:
        client = Client()
        if isinstance(who, Membership):
            client.room = f"/api/v1/darkrooms/{who.darkroom.slug}/"
        _, secret = Token.objects.create(
            user=who.person if isinstance(who, Membership) else who, expiry=None, name="test"
        )
        client.credentials(HTTP_AUTHORIZATION=f"Token {secret}")
        return client

    return speak


@pytest.fixture
def di(db: None) -> Membership:
    """Admin and founder: people and settings, no chemical authority."""
    return make.room(make.account("Di Dorn"))


@pytest.fixture
def room(di: Membership) -> Darkroom:
    """The darkroom of the cast."""
    return di.darkroom


@pytest.fixture
def ada(di: Membership) -> Membership:
    """A member."""
    return make.member(di, name="Ada Adler")


@pytest.fixture
def bo(di: Membership) -> Membership:
    """A technician."""
    return make.member(di, Role.TECHNICIAN, name="Bo Brandt")


@pytest.fixture
def eli(di: Membership) -> Membership:
    """Another technician."""
    return make.member(di, Role.TECHNICIAN, name="Eli Ernst")


@pytest.fixture
def cy(di: Membership) -> Membership:
    """The instructor, who holds every topic."""
    instructor = make.member(di, Role.INSTRUCTOR, name="Cy Conrad")
    make.first_holder(di, instructor)
    return instructor


@pytest.fixture(name="max")
def max_(di: Membership) -> Membership:
    """A pupil, a minor for years to come."""
    return make.member(di, name="Max Maria Mohn", minor_until=date(2100, 1, 1))


@pytest.fixture
def outsider(db: None) -> Membership:
    """Admin of another darkroom, elsewhere."""
    return make.room(make.account("Otto Orth"), slug=make.unique("elsewhere"))


@pytest.fixture
def elsewhere(outsider: Membership) -> Darkroom:
    """The other darkroom."""
    return outsider.darkroom


@pytest.fixture
def committed(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """Let a test really commit. Nothing is flushed or deleted after it (ledgers refuse that): make all rows anew."""
    with django_db_blocker.unblock():
        yield
        connections.close_all()


@pytest.fixture
def committed_room(committed: None) -> Membership:
    """A new darkroom that other connections can see, by its founder's membership."""
    return make.room()
