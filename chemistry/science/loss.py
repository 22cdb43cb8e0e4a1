"""Is what nobody can account for worth a word?"""


def worth_telling(unaccounted: int, had: int, *, percent: int, volume: int) -> bool:
    """Tell whether a loss is above both bounds: ``percent`` of what there was, and ``volume`` (both in 0.1 mL).

    The usual bounds are 5 % and 200 mL (common practice, no source). Found liquid (below zero) is no loss.
    """
    return unaccounted > volume and unaccounted * 100 > had * percent
