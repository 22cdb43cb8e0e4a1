"""Short codes for labels: five symbols a person can read out, and one that betrays a slip.

The check symbol is a weighted sum modulo 37, a prime: it catches every wrong symbol and every swap of two neighbours.
``make`` passes over the few bodies whose sum has no symbol among the 32, so that a label holds letters and digits only.
"""

from collections.abc import Iterable

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
LENGTH = 5
MODULUS = 37
MEANT = str.maketrans({"O": "0", "I": "1", "L": "1", "-": None, " ": None})


class ShortcodeFault(ValueError):
    """A code that was read or typed wrongly."""


def make(random_bytes: Iterable[int]) -> str:
    """Return the first good code that ``random_bytes`` yields; give an endless source, or 16 bytes and retry."""
    symbols = (ALPHABET[byte % len(ALPHABET)] for byte in random_bytes)
    body = ""
    for symbol in symbols:
        body = (body + symbol)[-LENGTH:]
        if len(body) == LENGTH and _check(body) < len(ALPHABET):
            return body + ALPHABET[_check(body)]
    raise ShortcodeFault("these bytes make no code; give more")


def check(text: str) -> str:
    """Return the code as it stands on the label, forgiving case, spaces, dashes, O for 0 and I or L for 1."""
    code = text.upper().translate(MEANT)
    if len(code) != LENGTH + 1 or any(symbol not in ALPHABET for symbol in code):
        raise ShortcodeFault(f"a label's code has {LENGTH + 1} letters and digits, such as 7K3QF2")
    if _check(code[:LENGTH]) != ALPHABET.index(code[LENGTH]):
        raise ShortcodeFault("that code has a slip in it; read the label again")
    return code


def _check(body: str) -> int:
    """Return the weighted sum of the symbols modulo 37; weights 2 to 6, the check symbol itself counting once."""
    total = sum((place + 2) * ALPHABET.index(symbol) for place, symbol in enumerate(reversed(body)))
    return -total % MODULUS
