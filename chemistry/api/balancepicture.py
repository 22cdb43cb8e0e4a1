"""A picture of where liquid went: bars of one scale, each with its words and its number, legible without colour."""

from collections.abc import Sequence
from html import escape

from darkroom_service.quantity import millilitres

WIDTH, LEFT, BAR, LINE, TOP = 640, 150, 340, 26, 64
# Hatching tells ways apart in print; the words stand beside each bar.
PATTERN = (
    '<defs><pattern id="gone" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<rect width="6" height="6" fill="#fff"/><line x1="0" y1="0" x2="0" y2="6" stroke="#000" stroke-width="3"/>'
    "</pattern></defs>"
)
Part = tuple[str, int]


def picture(title: str, came: Sequence[Part], went: Sequence[Part]) -> str:
    """Return an SVG of what came and what went; parts are (words, 0.1 mL), and none of them is left out.

    The longest bar fills the width; a bar below zero is drawn by its size and says its sign in the number.
    """
    longest = max((abs(amount) for _, amount in (*came, *went)), default=0) or 1
    height = TOP + LINE * (len(came) + len(went) + 2) + 12
    said = "; ".join(f"{words} {millilitres(amount):f} mL" for words, amount in (*came, *went))
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" role="img" '
        f'aria-labelledby="t d" font-family="sans-serif" font-size="14">',
        f'<title id="t">{_text(title)}</title><desc id="d">{_text(said)}</desc>{PATTERN}',
        f'<rect width="{WIDTH}" height="{height}" fill="#fff"/>',
        f'<text x="12" y="28" font-size="18">{_text(title)}</text>',
    ]
    y = TOP
    for heading, parts, fill in (("Came", came, "#000"), ("Went", went, "url(#gone)")):
        lines.append(f'<text x="12" y="{y}" font-weight="bold">{heading}</text>')
        for words, amount in parts:
            y += LINE
            lines.append(_bar(y, words, amount, abs(amount) * BAR // longest, fill))
        y += LINE
    return "".join([*lines, "</svg>"])


def _bar(y: int, words: str, amount: int, length: int, fill: str) -> str:
    return (
        f'<text x="{LEFT - 8}" y="{y}" text-anchor="end">{_text(words)}</text>'
        f'<rect x="{LEFT}" y="{y - 13}" width="{max(length, 1)}" height="16" fill="{fill}" stroke="#000"/>'
        f'<text x="{LEFT + max(length, 1) + 8}" y="{y}">{millilitres(amount):f} mL</text>'
    )


def _text(words: str) -> str:
    """Escape a text for SVG; what XML cannot hold at all is left out."""
    return escape("".join(letter for letter in words if letter.isprintable()))
