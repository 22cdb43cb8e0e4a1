"""Time the classification of one mixture beside a plain loop over its ingredients, in one run."""

import time
from decimal import Decimal
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from chemistry.science.hazard import strength, timing
from chemistry.science.hazard.composition import Basis, Recipe, exact
from chemistry.science.hazard.table import standard

# An MQ-borax stock in grams per litre: the usual load of a page. Common practice, no source.
STOCK = (("55-55-0", "2"), ("7757-83-7", "100"), ("123-31-9", "5"), ("1303-96-4", "2"))
FEWEST = 5


class Command(BaseCommand):
    """``bench_hazards [--rounds N]``: medians of rounds in which the two take turns, and their ratio."""

    help = __doc__

    def add_arguments(self, parser: CommandParser) -> None:
        """Ask for the number of rounds."""
        parser.add_argument("--rounds", type=int, default=201, help=f"how many rounds, at least {FEWEST}")

    def handle(self, *_: Any, **options: Any) -> None:
        """Print the medians of one run; the mixture is classified anew each round, no answer is kept."""
        rounds = options["rounds"]
        if rounds < FEWEST:
            raise CommandError(f"a median of fewer than {FEWEST} rounds says little", returncode=2)
        recipe = Recipe(tuple(exact(cas, Decimal(grams)) for cas, grams in STOCK), Basis.G_PER_L, powder=True)
        mixture = strength.at(recipe, strength.STOCK, standard())
        timing.timed(mixture, FEWEST, time.perf_counter)  # warm what is only worked out once
        found = timing.timed(mixture, rounds, time.perf_counter)
        self.stdout.write(f"rounds, each one classification and one plain loop: {found.rounds}")
        self.stdout.write(f"classify one mixture of {len(STOCK)} ingredients: {found.classify_us:.1f} us (median)")
        self.stdout.write(f"plain loop over its ingredients and classes: {found.loop_us:.1f} us (median)")
        self.stdout.write(f"ratio (median of the rounds): {found.ratio:.1f}")
