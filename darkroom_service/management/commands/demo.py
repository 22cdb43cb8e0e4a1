"""Load the demo darkroom, once; a load that broke off goes on where it stopped."""

import json
from argparse import ArgumentParser
from datetime import date, timedelta
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand

from accounts.models import Darkroom
from darkroom_service import clock
from darkroom_service.demo import calendar, cast, pails, safety, stores, term
from darkroom_service.demo.stage import DAYS, SLUG, ZONE, Stage
from darkroom_service.localday import day_of


class Command(BaseCommand):
    """``demo``: one invented school darkroom with a term of history, made through the commands."""

    help = "Load the demo darkroom unless it is complete already."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--today", type=date.fromisoformat, help="the day the term ends (default: today)")

    def handle(self, *args: Any, today: date | None = None, **options: Any) -> None:
        note = settings.DATA / "demo.json"
        room = Darkroom.objects.filter(slug=SLUG).first()
        if room and note.exists():
            return
        last = today or day_of(clock.now(), ZONE)
        stage = Stage(day_of(room.created_at, ZONE) if room else last - timedelta(days=DAYS))
        self.stderr.write("Loading the demo darkroom, which takes a moment ...")
        cast.enter(stage)
        stores.stock_up(stage)
        stores.mix_all(stage)
        stores.lay_lines(stage)
        calendar.plan(stage)
        safety.read_sheets(stage)
        pails.rule(stage)
        term.play(stage)
        pails.look_round(stage)
        pails.mishap(stage)
        note.write_text(json.dumps(_said(stage), indent=1))


def _said(stage: Stage) -> dict[str, Any]:
    """Return what the greeting needs: the darkroom, and a check-in to try."""
    check_in = {
        "line": str(stage.things["film line"]),
        "vessel": str(stage.things["bottle D"]),
        "films": [{"format": "135-36", "count": 1}],
        "tank": {"value": "600", "unit": "mL"},
        "use": "one_shot",
        "dilution": "1+1",
    }
    return {"darkroom": SLUG, "check_in": check_in, "things": {name: str(each) for name, each in stage.things.items()}}
