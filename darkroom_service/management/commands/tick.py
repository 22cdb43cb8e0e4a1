"""One beat of the schedule by hand or by the machine's own timer: with this in a crontab no broker is needed."""

import time
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from darkroom_service.tick import tick


class Command(BaseCommand):
    """``tick [--every SECONDS]``: once, or again and again."""

    help = "Find what is due, tell it, and send what waits; needs no broker and no other part running."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--every", type=int, metavar="SECONDS", help="go on, with this pause between the beats")

    def handle(self, *args: Any, every: int | None = None, **options: Any) -> None:
        while True:
            if not tick() and every is None:
                raise CommandError("the sweep failed; what was queued before was sent. The log says why.")
            if every is None:
                return
            time.sleep(every)
