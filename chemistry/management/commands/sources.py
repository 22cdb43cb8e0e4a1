"""List the values hazards are computed with, each with its source; what nobody has read yet can be listed alone."""

from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from chemistry.science.hazard import unread
from chemistry.science.hazard.origin import UNREAD


class Command(BaseCommand):
    """``sources [--unread]``: one line a value: what it is about, the cell, the value, how it got here, its source."""

    help = __doc__

    def add_arguments(self, parser: CommandParser) -> None:
        """Ask whether only what is from memory, or from a weak copy, is wanted."""
        parser.add_argument("--unread", action="store_true", help="only what nobody has read at its source")

    def handle(self, *_: Any, **options: Any) -> None:
        """Print the values and count them."""
        every = unread.stated()
        alone = [each for each in every if each.origin.how in UNREAD]
        for each in alone if options["unread"] else every:
            told = (each.about, each.cell, each.value, each.origin.how.value, each.origin.title, each.origin.address)
            self.stdout.write(" | ".join(filter(None, told)))
        self.stdout.write(f"{len(every)} values, {len(alone)} of them not read at their source yet")
