"""CAS registry numbers: their shape and their check digit."""

import re

_SHAPE = re.compile(r"([1-9][0-9]{1,6})-([0-9]{2})-([0-9])")


def check_digit(cas: str) -> int | None:
    """Return the digit a CAS number must end in: sum of (digit x place from the right) mod 10; None for a bad shape.

    Valid for two to seven digits, two digits, one digit. Source: from memory, published by the registry.
    """
    found = _SHAPE.fullmatch(cas)
    if found is None:
        return None
    digits = found[1] + found[2]
    return sum(place * int(digit) for place, digit in enumerate(reversed(digits), start=1)) % 10


def is_sound(cas: str) -> bool:
    """Say whether the shape is right and the last digit is the check digit."""
    digit = check_digit(cas)
    return digit is not None and cas[-1] == str(digit)
