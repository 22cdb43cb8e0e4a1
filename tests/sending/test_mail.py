"""What a mail says, and what nobody can make it say. Parsed by the standard library's own mail parser."""

import re
from datetime import timedelta
from email import message_from_bytes, policy
from html.parser import HTMLParser
from zoneinfo import ZoneInfo

import pytest

from accounts.models import Delivery, Membership, Preference
from accounts.sending import mail, words
from darkroom_service import clock
from tests import make
from tests.sending.conftest import with_address

pytestmark = pytest.mark.django_db
HOSTILE = [
    "Bob\r\nBcc: victim@example.net",
    "Bob\nSubject: won",
    "Bob\r\n\r\n<script>alert(1)</script>",
    'Bob" <victim@example.net>, "',
    "Bob, victim@example.net",
    "Bob\x0bX: 1\u2028Y: 2\u0085Z: 3",
    "=?utf-8?q?Bob=0D=0ABcc:_victim@example.net?=",
    "Böb \u202ereversed",
    "B" * 120,
]
HEADERS = {
    "content-type", "mime-version", "subject", "from", "to", "date", "message-id", "list-unsubscribe",
    "list-unsubscribe-post", "auto-submitted",
}  # fmt: skip


def parsed(row):
    return message_from_bytes(mail.compose([row]).message().as_bytes(), policy=policy.default)


def test_a_mail_says_it_twice_plain_and_in_html(reachable):
    told = make.notice(reachable, text="Bottle 3 <A> & co ends on Friday.", path="vessels/x")
    message = parsed(told.deliveries.get())
    assert message["Subject"] == "[A school darkroom] A batch one asked for is approved"
    assert message["To"] == "ada@example.org"
    assert message["From"] == "A school darkroom <darkroom@example.org>"
    plain, html = (message.get_body((kind,)).get_content() for kind in ("plain", "html"))
    link = f"https://darkroom.example.org/api/v1/darkrooms/{reachable.darkroom.slug}/vessels/x"
    assert "Bottle 3 <A> & co ends on Friday." in plain
    assert "Bottle 3 &lt;A&gt; &amp; co ends on Friday." in html
    assert link in plain
    assert f'href="{link}"' in html


def test_the_message_id_stays_the_same_and_is_well_formed(reachable):
    row = make.notice(reachable).deliveries.get()
    again = Delivery.objects.get(pk=row.pk)
    assert parsed(row)["Message-ID"] == parsed(again)["Message-ID"]
    # RFC 5322 3.6.4: "<" dot-atom "@" dot-atom ">"
    assert re.fullmatch(r"<[0-9a-f-]{36}@[a-z.]+>", str(parsed(row)["Message-ID"]))


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_name_adds_no_header_and_no_recipient(reachable, name):
    room = reachable.darkroom
    room.name = name
    room.save()
    told = make.notice(reachable, text=name, kind="x\r\nBcc: victim@example.net")
    message = parsed(Delivery.objects.with_reader().get(notice=told))
    assert {header.lower() for header in message} == HEADERS
    assert [str(address.addr_spec) for address in message["To"].addresses] == ["ada@example.org"]
    assert [str(address.addr_spec) for address in message["From"].addresses] == ["darkroom@example.org"]
    assert message["Bcc"] is None
    assert mail.compose([told.deliveries.get()]).recipients() == ["ada@example.org"]


class Tags(HTMLParser):
    def __init__(self):
        super().__init__()
        self.found = set()

    def handle_starttag(self, tag, attrs):
        self.found.add(tag)


def test_html_holds_only_our_own_tags(reachable):
    told = make.notice(reachable, text="<img src=x onerror=alert(1)><script>x</script>", path='"><b>')
    tags = Tags()
    tags.feed(words.as_html([told]))
    assert tags.found <= {"html", "head", "meta", "title", "body", "h2", "p", "a", "hr", "br"}


@pytest.mark.parametrize(
    "address", ["a@b\r\nBcc: v@example.net", "a@example.org, v@example.net", "a@b@c", "a b@example.org"]
)
def test_an_address_that_is_not_one_is_given_up_at_once(reachable, address, mailoutbox, send_all):
    row = make.notice(reachable).deliveries.get()
    with_address(reachable, address)
    send_all()
    row.refresh_from_db()
    assert (row.state, row.tries) == ("parked", 1)
    assert "address" in row.error
    assert not mailoutbox


def test_one_click_ends_mail_but_not_of_safety_and_needs_no_login(client, reachable, mailoutbox, send_all):
    message = parsed(make.notice(reachable).deliveries.get())
    assert message["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"  # RFC 8058 3.1
    address = str(message["List-Unsubscribe"]).strip(" <>").removeprefix("https://darkroom.example.org")
    page = client.get(address)
    assert page.status_code == 200
    assert b'<form method="post">' in page.content
    assert not Preference.objects.exists(), "looking ends nothing"
    strict = type(client)(enforce_csrf_checks=True)
    for _ in range(2):
        assert strict.post(address, {"List-Unsubscribe": "One-Click"}).status_code == 200
    assert Preference.objects.get().mail == "off"
    make.notice(reachable)
    make.notice(reachable, safety=True, kind="recall")
    send_all()
    assert [sent.subject for sent in mailoutbox] == ["[A school darkroom] Safety: Something one used may have been bad"]


def test_a_forged_way_out_ends_nothing(client, reachable, bo):
    address = words.unsubscribe_address(reachable).removeprefix("https://darkroom.example.org")
    for forged in (address[:-1], address.replace(str(reachable.public_id), str(bo.public_id)), "/unsubscribe/x"):
        assert client.post(forged).status_code == 404
    assert not Preference.objects.exists()


def test_a_digest_is_one_mail_at_the_hour_and_a_repeat_says_the_same(reachable, monkeypatch, mailoutbox, send_all):
    Preference.objects.create(membership=reachable, mail="daily", digest_hour=7)
    midnight = clock.now().replace(hour=12, minute=0)
    with clock.fixed(midnight):
        told = [make.notice(reachable, text=f"Number {n}.") for n in range(3)]
        urgent = make.notice(reachable, safety=True, kind="recall", text="Do not use it.")
        send_all()
    assert [urgent.text in sent.body for sent in mailoutbox] == [True], "safety does not wait for the morning"
    due = Delivery.objects.get(notice=told[0]).due_at
    assert due.astimezone(ZoneInfo("Europe/Berlin")).hour == 7
    with clock.fixed(due), monkeypatch.context() as away:
        away.setattr(mail, "send", lambda rows: (_ for _ in ()).throw(OSError("lost")))
        send_all()
    with clock.fixed(due + timedelta(minutes=30)):
        later = make.notice(reachable, text="Number 4.")
        send_all()
    [digest] = mailoutbox[1:]
    assert digest.subject == "[A school darkroom] 3 notices"
    assert all(each.text in digest.body for each in told)
    assert later.text not in digest.body, "the same Message-ID always says the same"
    assert set(Delivery.objects.filter(notice__in=told).values_list("state", flat=True)) == {"sent"}
    with clock.fixed(due + timedelta(days=1)):
        send_all()
    assert [later.text in sent.body for sent in mailoutbox] == [False, False, True]


def test_quiet_hours_hold_mail_back_and_safety_passes(reachable, mailoutbox, send_all):
    # Berlin is one hour ahead of UTC in winter.
    wishes = {"quiet_from": "22:00", "quiet_until": "07:00"}
    Preference.objects.create(membership=reachable, **wishes)
    night = clock.now().replace(year=2026, month=1, day=10, hour=23, minute=30)
    with clock.fixed(night):
        held = make.notice(reachable)
        make.notice(reachable, safety=True, kind="recall")
        send_all()
    assert len(mailoutbox) == 1
    with clock.fixed(night.replace(day=11, hour=5, minute=59)):
        send_all()
        assert len(mailoutbox) == 1
    with clock.fixed(night.replace(day=11, hour=6, minute=0, second=0, microsecond=0)):
        send_all()
    assert len(mailoutbox) == 2
    assert held.deliveries.get().tries == 1, "waiting for the morning is no try"


def test_mail_of_another_darkroom_is_another_matter(reachable, outsider, mailoutbox, send_all):
    Preference.objects.create(membership=reachable, mail="off")
    elsewhere = Membership.objects.create(darkroom=outsider.darkroom, person=reachable.person, joined_at=clock.now())
    make.notice(elsewhere)
    send_all()
    assert len(mailoutbox) == 1


def test_a_header_line_holds_nothing_unseen_and_is_not_too_long():
    assert words.one_line("a\x00b\r\nc\u200bd \t e") == "a b c d e"
    assert len(words.one_line("x" * 500)) == words.LONGEST_SUBJECT
