import cProfile
import pstats

from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.chemistry.test_stateful import Life


def test_x(committed):
    p = cProfile.Profile()
    p.enable()
    try:
        run_state_machine_as_test(
            Life,
            settings=settings(
                max_examples=6,
                stateful_step_count=20,
                deadline=None,
                database=None,
                phases=[Phase.generate],
                suppress_health_check=list(HealthCheck),
            ),
        )
    finally:
        p.disable()
        pstats.Stats(p).sort_stats("cumulative").print_stats(80)
