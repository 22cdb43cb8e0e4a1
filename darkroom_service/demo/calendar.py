"""The school's year around the play: a half-term within it, and the holidays that come after it."""

from datetime import timedelta

from chemistry.commands import termbreak
from darkroom_service.demo.stage import Stage

# name, first and last day of the play
BREAKS = (("Half-term", 51, 58), ("Holidays", 84, 97))


def plan(stage: Stage) -> None:
    """Let the instructor write the breaks down, so that looking ahead knows them."""
    for name, first, last in BREAKS:
        first_day, last_day = (stage.first + timedelta(days=day) for day in (first, last))
        stage.act("instructor", termbreak.create, name=name, first_day=first_day, last_day=last_day)
