"""The calendar feed itself (RFC 5545): the dates one was told of and those that come, without anybody's name."""

import hashlib
from datetime import date, datetime, timedelta

from django.http import HttpRequest, HttpResponse, HttpResponseNotFound
from django.utils.cache import patch_cache_control
from django.views.decorators.http import require_safe
from icalendar import Calendar, Event

from accounts.commands import coming, feed
from accounts.commands.coming import Coming
from accounts.models import Membership, Notice
from accounts.sending.words import address_of, link, one_line, title
from darkroom_service.api.etag import TAG

BACK = timedelta(days=90)
MOST = 1000
KIND = "text/calendar; charset=utf-8"


@require_safe
def calendar(request: HttpRequest, secret: str) -> HttpResponse:
    """Answer a calendar program; whoever was ended or has left gets what an address that never was gets."""
    member = feed.reader(secret)
    if member is None:
        return HttpResponseNotFound("There is no such calendar.\n", content_type="text/plain; charset=utf-8")
    content = render(member)
    tag = f'"{hashlib.sha256(content).hexdigest()[:32]}"'
    known = {match[0].removeprefix("W/") for match in TAG.finditer(request.headers.get("If-None-Match", ""))}
    answer = HttpResponse(status=304) if tag in known else HttpResponse(content, content_type=KIND)
    answer["ETag"] = tag
    # The reader's own program may keep a copy but asks again each time: an ended address goes dark at once.
    patch_cache_control(answer, private=True, no_cache=True)
    answer["X-Robots-Tag"] = "noindex"
    return answer


def render(member: Membership) -> bytes:
    """Return the calendar of one member: notices of the last 90 days and later, and what is coming that they may see.

    A notice is left out where what is coming says the same, so that a day which moves leaves nothing on the old one.
    """
    room = member.darkroom
    whole = Calendar()
    whole.add("prodid", "-//Darkroom Service//Notices//EN")
    whole.add("version", "2.0")
    whole.add("method", "PUBLISH")
    whole.add("x-wr-calname", one_line(room.name))
    ahead, today = coming.of(member), coming.today(member)
    said = {(each.instead_of, each.path) for each in ahead}
    told = Notice.objects.filter(to=member, due_on__gte=today - BACK).select_related("darkroom")
    for notice in told.order_by("-due_on", "-id")[:MOST]:
        if notice.due_on < today or (notice.kind, notice.path) not in said:
            whole.add_component(_of_notice(notice))
    for each in ahead:
        whole.add_component(_of_coming(each, room.slug))
    content: bytes = whole.to_ical()
    return content


def _of_notice(notice: Notice) -> Event:
    """Return one whole day. A notice's text stays out: it may name people, and a calendar is passed around."""
    return _day(str(notice.public_id), notice.posted_at, notice.due_on, title(notice), link(notice))


def _of_coming(each: Coming, slug: str) -> Event:
    event = _day(each.uid, each.since, each.day, one_line(each.title), address_of(slug, each.path))
    event.add("sequence", each.sequence)
    return event


def _day(uid: str, since: datetime, day: date, summary: str, address: str) -> Event:
    event = Event()
    event.add("uid", uid)
    event.add("dtstamp", since.replace(microsecond=0))
    event.add("dtstart", day)
    event.add("dtend", day + timedelta(days=1))
    event.add("summary", summary)
    event.add("url", address)
    event.add("transp", "TRANSPARENT")
    return event
