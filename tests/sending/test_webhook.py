"""The signed webhook: who may set it, what it says and signs, and which addresses it never speaks to."""

import base64
import json
import socket
import subprocess
import threading
import time
from datetime import timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest

from accounts.commands import webhook as command
from accounts.models import Channel, Delivery, Webhook
from accounts.sending import address, webhook
from accounts.sending.limit import Undelivered
from darkroom_service import clock
from tests import make

pytestmark = pytest.mark.django_db


class Receiver:
    """A web server of our own that keeps what it is sent and answers as told."""

    def __init__(self):
        self.got, self.status, self.location, self.drip = [], 204, None, 0.0
        outer = self

        class Handler(BaseHTTPRequestHandler):
            def do_POST(self):
                body = self.rfile.read(int(self.headers["Content-Length"]))
                outer.got.append((self.path, dict(self.headers.items()), body))
                if outer.drip:
                    for _ in range(100):
                        self.wfile.write(b"H")
                        self.wfile.flush()
                        time.sleep(outer.drip)
                self.send_response(outer.status)
                if outer.location:
                    self.send_header("Location", outer.location)
                self.end_headers()

            def log_message(self, *_):
                pass

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.server.daemon_threads = True
        self.url = f"http://127.0.0.1:{self.server.server_port}/hook?x=1"
        threading.Thread(target=self.server.serve_forever, args=(0.05,), daemon=True).start()


@pytest.fixture
def receiver(settings):
    settings.WEBHOOK_INSIDE = True
    made = Receiver()
    yield made
    made.server.shutdown()
    made.server.server_close()


@pytest.fixture
def hook(di, client_for, receiver):
    answer = client_for(di).post("webhook", {"url": receiver.url})
    assert answer.status_code == 201, answer.json()
    return answer.json()


def by_openssl(secret, content):
    """Sign with another program: HMAC-SHA256 by OpenSSL's command line."""
    key = base64.b64decode(secret.removeprefix("whsec_")).hex()
    command_line = ["openssl", "dgst", "-sha256", "-mac", "HMAC", "-macopt", f"hexkey:{key}", "-binary"]
    return (
        "v1,"
        + base64.b64encode(subprocess.run(command_line, input=content, capture_output=True, check=True).stdout).decode()
    )


def test_the_reference_vector_of_standard_webhooks():
    # The worked example of the Standard Webhooks reference libraries, read in several public repositories.
    headers = webhook.signed(
        ["whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"], "msg_p5jXN8AQM9LWM0D4loKWxJek", 1614265330, b'{"test": 2432232314}'
    )
    assert headers["webhook-signature"] == "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="


def test_an_event_is_signed_sent_once_and_names_nobody(hook, bo, eli, receiver, send_all):
    now = clock.now()
    for person in (bo, eli):
        make.notice(person, subject="vessel:1", text="Bo Brandt saw it.", posted_at=now)
    send_all()
    [(path, headers, body)] = receiver.got
    assert path == "/hook?x=1"
    said = json.loads(body)
    assert said["type"] == "notice.batch-approved"
    assert set(said["data"]) == {"darkroom", "subject", "due_on", "safety", "path"}
    assert b"Brandt" not in body
    assert b"Ernst" not in body
    row = Delivery.objects.get(channel=Channel.WEBHOOK)
    assert row.state == "sent"
    assert headers["webhook-id"] == f"msg_{row.public_id}"
    assert abs(int(headers["webhook-timestamp"]) - now.timestamp()) < 60
    content = f"{headers['webhook-id']}.{headers['webhook-timestamp']}.".encode() + body
    assert headers["webhook-signature"] == by_openssl(hook["secret"], content)


def test_two_secrets_sign_for_a_day_after_a_change(hook, di, bo, client_for, receiver, send_all):
    new = client_for(di).post("webhook/rotation").json()
    assert new["secret"] != hook["secret"]
    make.notice(bo)
    send_all()
    _, headers, body = receiver.got[-1]
    content = f"{headers['webhook-id']}.{headers['webhook-timestamp']}.".encode() + body
    assert headers["webhook-signature"].split() == [by_openssl(each["secret"], content) for each in (new, hook)]
    with clock.fixed(clock.now() + timedelta(hours=25)):
        make.notice(bo)
        send_all()
    assert len(receiver.got[-1][1]["webhook-signature"].split()) == 1


def test_the_secret_is_shown_once_and_stands_in_no_table_and_no_record(hook, di, client_for, django_assert_num_queries):
    from django.core import serializers

    from accounts.models import Entry

    admin = client_for(di)
    assert "secret" not in admin.get("webhook").json()
    rows = serializers.serialize("json", [*Webhook.objects.all(), *Entry.objects.all()])
    assert hook["secret"] not in rows
    assert hook["secret"].removeprefix("whsec_") not in rows
    assert len(base64.b64decode(hook["secret"].removeprefix("whsec_"))) == 32  # the standard asks for 24 to 64 bytes


def test_the_same_key_tells_the_same_secret(di, client_for, receiver):
    from uuid import uuid4

    key, admin = uuid4(), client_for(di)
    first, again = (admin.post("webhook", {"url": receiver.url}, key=key) for _ in range(2))
    assert first.json() == again.json()
    assert Webhook.objects.get().generation == 1


def test_only_admins_set_it(hook, di, ada, bo, cy, outsider, client_for, receiver):
    for person in (ada, bo, cy):
        speaker = client_for(person)
        assert speaker.get("webhook").status_code == 403
        assert speaker.post("webhook", {"url": receiver.url}).status_code == 403
        assert speaker.post("webhook/rotation").status_code == 403
    assert client_for(outsider).get("webhook").status_code == 404


def test_after_its_end_nothing_is_sent(hook, di, bo, client_for, receiver, send_all):
    make.notice(bo)
    admin = client_for(di)
    assert admin.post("webhook/ending").status_code == 201
    assert admin.post("webhook/ending").status_code == 409
    assert admin.post("webhook/rotation").status_code == 409
    make.notice(bo)
    send_all()
    assert not receiver.got
    assert list(Delivery.objects.values_list("state", flat=True)) == ["dropped"]


@pytest.mark.parametrize(("status", "state"), [(200, "sent"), (302, "failed"), (410, "failed"), (500, "failed")])
def test_only_2xx_is_yes_and_no_redirect_is_followed(hook, bo, receiver, send_all, status, state):
    receiver.status, receiver.location = status, receiver.url
    make.notice(bo)
    send_all()
    assert len(receiver.got) == 1
    row = Delivery.objects.get(channel=Channel.WEBHOOK)
    assert row.state == state
    assert row.error == ("" if state == "sent" else f"The webhook answered {status}.")


def test_an_answer_that_drips_is_cut_off(hook, bo, receiver, monkeypatch, send_all):
    monkeypatch.setattr(webhook, "WHOLE_SECONDS", 0.5)
    receiver.drip = 0.2
    make.notice(bo)
    began = time.monotonic()
    send_all()
    assert time.monotonic() - began < 5
    assert Delivery.objects.get(channel=Channel.WEBHOOK).state == "failed"


# Addresses not of the open Internet: the IANA special-purpose registries (RFC 6890 and its updates), from memory.
INSIDE = [
    "127.0.0.1", "127.9.9.9", "0.0.0.0", "10.0.0.1", "172.16.0.1", "172.31.255.255", "192.168.1.1", "169.254.169.254",
    "100.64.0.1", "192.0.0.1", "192.0.2.1", "198.18.0.1", "203.0.113.5", "224.0.0.1", "240.0.0.1", "255.255.255.255",
    "::", "::1", "::ffff:127.0.0.1", "::ffff:10.0.0.1", "::ffff:a9fe:a9fe", "fe80::1", "fe80::1%eth0", "fc00::1",
    "fd00:ec2::254", "ff02::1", "2001:db8::1", "64:ff9b::7f00:1", "64:ff9b::a00:1", "64:ff9b:1::a00:1", "2002:7f00:1::",
    "2002:a00:1::1", "::127.0.0.1", "2001:0:4136:e378:8000:63bf:f5ff:fffe", "nonsense",
]  # fmt: skip
OUTSIDE = ["8.8.8.8", "93.184.216.34", "172.32.0.1", "2606:2800:220:1:248:1893:25c8:1946", "::ffff:8.8.8.8"]


@pytest.mark.parametrize("ip", INSIDE)
def test_an_inside_address_is_refused(ip):
    assert not address.public(ip)


@pytest.mark.parametrize("ip", OUTSIDE)
def test_an_outside_address_is_not(ip):
    assert address.public(ip)


def answering(*ips):
    def getaddrinfo(host, port, **_):
        return [(socket.AF_INET6 if ":" in ip else socket.AF_INET, socket.SOCK_STREAM, 6, "", (ip, port)) for ip in ips]

    return getaddrinfo


@pytest.mark.parametrize("ips", [("127.0.0.1",), ("8.8.8.8", "10.0.0.1"), ("::ffff:169.254.169.254",), ()])
def test_a_public_name_that_leads_inside_is_refused_after_resolution(monkeypatch, ips):
    monkeypatch.setattr(address.socket, "getaddrinfo", answering(*ips))
    with pytest.raises(Undelivered):
        address.resolve("https://innocent.example.org/x")


def test_the_connection_goes_to_the_address_that_was_judged(monkeypatch):
    """A second look-up would answer with an inside address; there is none."""
    answers = [answering("8.8.8.8"), answering("127.0.0.1")]
    monkeypatch.setattr(address.socket, "getaddrinfo", lambda *a, **k: answers.pop(0)(*a, **k))  # noqa: PLW0108
    target = address.resolve("https://innocent.example.org:8443/x")
    connection = webhook._connection(target)
    assert (target.ip, target.port) == ("8.8.8.8", 8443)
    assert connection.host == "8.8.8.8"
    assert connection.server_hostname == connection.assert_hostname == "innocent.example.org"
    assert connection.ssl_context.check_hostname or connection.assert_hostname


@pytest.mark.parametrize(
    "url",
    [
        "http://example.org/", "ftp://example.org/", "https://", "https://user:pw@example.org/", "https://a.example/#x",
        "https://exa mple.org/", "https://example.org:0/", "https://example.org:99999/", "https://exämple.org/", "",
        "https://example.org\\@127.0.0.1/", "https://[::1/",
    ],
)  # fmt: skip
def test_an_address_that_will_never_do_is_refused_at_once(di, client_for, url):
    answer = client_for(di).post("webhook", {"url": url})
    assert answer.status_code == 400, url
    assert not Webhook.objects.exists()


def test_a_secret_depends_on_the_key_of_the_service(hook, settings):
    row = Webhook.objects.get()
    settings.SECRET_KEY = "another"
    assert command.secret(row, 1) != hook["secret"]
