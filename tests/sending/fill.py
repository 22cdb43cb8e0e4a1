"""Fills an empty database for the chaos: ``python -m tests.sending.fill COUNT SECONDS``, notices due over so many."""

import sys
from datetime import timedelta

import django

django.setup()

# ruff: noqa: E402 - models can be read only now
from django.core.management import call_command

from accounts.models import Membership
from darkroom_service import clock
from tests import make

READERS = 20
# The workers are up by then.
HEAD_START = timedelta(seconds=5)


def main(count: int, seconds: float) -> None:
    """Make the tables, a darkroom, its readers, and the notices."""
    call_command("migrate", verbosity=0)
    admin = make.room(slug="storm")
    readers = []
    for number in range(READERS):
        reader = make.member(admin, name=f"Reader {number}")
        reader.person.email = f"reader{number}@storm.example.org"
        reader.person.save()
        readers.append(Membership.objects.select_related("darkroom").get(pk=reader.pk))
    start = clock.now() + HEAD_START
    for number in range(count):
        at = start + timedelta(seconds=seconds * number / count)
        make.notice(readers[number % READERS], subject=f"storm:{number}", posted_at=at)


if __name__ == "__main__":
    main(int(sys.argv[1]), float(sys.argv[2]))
