"""How a notice reads outside the inbox: as a mail, plain and in HTML, and as an event without names."""

import html
import json
import unicodedata
from typing import Any

from django.conf import settings
from django.core.signing import Signer

from accounts.models import Delivery, Membership, Notice
from darkroom_service.due import kind

UNSUBSCRIBE = Signer(salt="accounts.unsubscribe")
LONGEST_SUBJECT = 120
FOOT = "You get this because you belong to {room}. Notices of safety always come. No other mail from there: {address}"
PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>{title}</title></head>
<body style="font-family:sans-serif;max-width:36em">
{items}
<p style="font-size:smaller">{foot}</p>
</body></html>
"""
ITEM = '<h2 style="font-size:1.1em">{title}</h2>\n<p>{text}</p>\n<p>For {day}. <a href="{link}">{link}</a></p>'


def one_line(text: str, longest: int = LONGEST_SUBJECT) -> str:
    """Return text fit for a header: nothing invisible, no encoded words, single spaces, not too long."""
    shown = "".join(" " if unicodedata.category(letter)[0] in "CZ" else letter for letter in text)
    line = " ".join(shown.split()).replace("=?", "= ?")
    return line if len(line) <= longest else f"{line[: longest - 1]}…"


def title(notice: Notice) -> str:
    """Return what kind of thing it is about, in words."""
    return kind(notice.kind).title or notice.kind.replace("-", " ").capitalize()


def link(notice: Notice) -> str:
    """Return the full address of what a notice is about, from the configured origin."""
    return address_of(notice.darkroom.slug, notice.path or "notices")


def address_of(slug: str, path: str) -> str:
    """Return the full address of something inside a darkroom."""
    return f"{settings.ORIGIN}/api/v1/darkrooms/{slug}/{path}"


def unsubscribe_address(reader: Membership) -> str:
    """Return the address that ends a member's mail, except of safety, without a login (RFC 8058)."""
    return f"{settings.ORIGIN}/unsubscribe/{UNSUBSCRIBE.sign(str(reader.public_id))}"


def subject(notices: list[Notice]) -> str:
    """Return the subject of a mail of one notice or of a digest."""
    first = notices[0]
    said = title(first) if len(notices) == 1 else f"{len(notices)} notices"
    if len(notices) == 1 and first.safety:
        said = f"Safety: {said}"
    return one_line(f"[{one_line(first.darkroom.name, 60)}] {said}")


def plain(notices: list[Notice]) -> str:
    """Return a mail's plain text."""
    parts = [f"{title(each)}\n\n{each.text}\n\nFor {each.due_on:%Y-%m-%d}. {link(each)}\n" for each in notices]
    return "\n- - -\n\n".join(parts) + f"\n-- \n{_foot(notices[0])}\n"


def as_html(notices: list[Notice]) -> str:
    """Return a mail's HTML: the same words, with everything that people typed escaped."""
    items = [
        ITEM.format(
            title=html.escape(title(each)),
            text=html.escape(each.text).replace("\n", "<br>"),
            day=f"{each.due_on:%Y-%m-%d}",
            link=html.escape(link(each)),
        )
        for each in notices
    ]
    return PAGE.format(
        title=html.escape(subject(notices)), items="\n<hr>\n".join(items), foot=html.escape(_foot(notices[0]))
    )


def event(row: Delivery) -> bytes:
    """Return a webhook's body: what kind of thing, about what and for which day; no names and no free text."""
    notice = row.notice
    data: dict[str, Any] = {
        "darkroom": notice.darkroom.slug,
        "subject": notice.subject,
        "due_on": f"{notice.due_on:%Y-%m-%d}",
        "safety": notice.safety,
        "path": notice.path,
    }
    body = {"type": f"notice.{notice.kind}", "timestamp": notice.posted_at.isoformat(), "data": data}
    return json.dumps(body, separators=(",", ":")).encode()


def _foot(notice: Notice) -> str:
    return FOOT.format(room=one_line(notice.darkroom.name), address=unsubscribe_address(notice.to))
