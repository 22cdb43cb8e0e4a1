"""A service whose mail is set up, and people with an address."""

from collections.abc import Callable
from typing import Any

import pytest

from accounts.models import Membership
from accounts.sending.run import deliver


@pytest.fixture(autouse=True)
def mail_ready(settings: Any) -> None:
    """Mail is set up; the framework keeps what is sent in ``mailoutbox``."""
    settings.MAIL_READY = True
    settings.ORIGIN = "https://darkroom.example.org"
    settings.DEFAULT_FROM_EMAIL = "darkroom@example.org"


@pytest.fixture
def reachable(ada: Membership) -> Membership:
    """A member with an address."""
    return with_address(ada)


def with_address(member: Membership, address: str = "ada@example.org") -> Membership:
    """Give somebody an address."""
    member.person.email = address
    member.person.save(update_fields=["email"])
    return member


@pytest.fixture
def send_all() -> Callable[[], int]:
    """Send what is due, here and now; returns how many were taken up."""
    return lambda: deliver(seconds=30)
