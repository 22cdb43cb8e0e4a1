"""Said before anything is weighed: a sign-off that will have lapsed by the day of mixing."""

from collections.abc import Sequence
from datetime import date, timedelta

from accounts.commands import notice
from accounts.commands.entry import Work
from accounts.models.signoff import missing_topics
from chemistry.models import Batch
from darkroom_service.localday import day_of, end_of
from darkroom_service.refusal import Malformed

USUAL_DAYS = 7  # our choice: most requests are approved and mixed within a week
LAPSES = "mixer.will_lapse"


def day_of_mixing(work: Work, mix_on: date | None) -> date:
    """Return the day a batch is to be mixed; a week from now where nobody said, and none before today."""
    today = day_of(work.recorded_at, work.darkroom.zone)
    if mix_on is not None and mix_on < today:
        words = f"That day is over. Give {today} or a later one, or leave it out."
        raise Malformed("mix_on.past", words, pointer="/mix_on", earliest=today)
    return mix_on or today + timedelta(days=USUAL_DAYS)


def lapsing(work: Work, topics: Sequence[str], mix_on: date | None) -> list[str]:
    """Return the topics the asker holds now, but no longer when the day of mixing ends.

    Where a day was named, also those they do not hold at all: they mean to mix.
    """
    then = end_of(day_of_mixing(work, mix_on), work.darkroom.zone) - timedelta(seconds=1)
    lacking = missing_topics(work.whom, topics, then)
    if mix_on is not None or not lacking:
        return lacking
    never = set(missing_topics(work.whom, lacking, work.recorded_at))
    return [code for code in lacking if code not in never]


def tell_locked(work: Work, batch: Batch, topics: Sequence[str], mix_on: date | None) -> None:
    """Tell who asked that they may not be the one to mix it, unless they renew what lapses."""
    day = day_of_mixing(work, mix_on)
    notice.post_locked(
        work, kind="sign-off-lapses", subject=f"batch:{batch.public_id}", path=f"batches/{batch.public_id}",
        text=f"On {day} no sign-off of yours will stand for {', '.join(topics)}, which mixing batch {batch.code} needs."
        " Ask an instructor to sign you off before then, or let somebody mix it who is.",
        to=[work.whom],
    )  # fmt: skip
