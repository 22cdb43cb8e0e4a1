"""Prove every running total, balance and chain from the ledgers, and name the rows that differ."""

from collections.abc import Iterator
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import IntegrityError, connection, transaction

from accounts import triggers
from accounts.commands import chain, tenancy
from accounts.commands import proof as accounts_proof
from accounts.models import Darkroom
from chemistry.commands import proof as chemistry_proof
from waste.commands import proof as waste_proof

DIFFERS, UNKNOWN = 1, 2


class Command(BaseCommand):
    """``verify [--darkroom SLUG]``: exits with 0 where all holds, 1 where something differs, 2 for no such darkroom."""

    help = "Recompute every running total from the ledgers; exits non-zero with the rows that differ."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--darkroom", metavar="SLUG", help="only this darkroom, by the name in its address")

    def handle(self, *args: Any, darkroom: str | None = None, **options: Any) -> None:
        rooms = Darkroom.objects.order_by("slug")
        if darkroom is not None:
            rooms = rooms.filter(slug=darkroom)
            if not rooms:
                raise CommandError(f"there is no darkroom called {darkroom}", returncode=UNKNOWN)
        count = 0
        for line in differences(list(rooms), everything=darkroom is None):
            count += 1
            self.stdout.write(line)
        if count:
            raise CommandError(f"{count} {'thing differs' if count == 1 else 'things differ'}", returncode=DIFFERS)
        self.stdout.write(
            f"darkrooms proved: {len(rooms)}; every total, balance, cost and chain follows from its ledger"
        )


def differences(rooms: list[Darkroom], *, everything: bool) -> Iterator[str]:
    """Yield a line for each thing that does not hold."""
    for name in triggers.missing():
        yield f"trigger {name}: missing, so rows could be changed; run migrate to put it back"
    yield from _dangling()
    for room in rooms:
        seq = chain.broken(room)
        if seq is not None:
            yield f"{room.slug}: the record does not hold from entry {seq} on"
    for scope in [None] if everything else [room.pk for room in rooms]:
        for proof in (tenancy, accounts_proof, waste_proof, chemistry_proof):
            yield from proof.differences(scope)


def _dangling() -> Iterator[str]:
    """Ask the database itself whether every pointer has something at its end."""
    try:
        with transaction.atomic():
            connection.check_constraints()
    except IntegrityError as fault:
        yield f"a row points to nothing: {fault}"
