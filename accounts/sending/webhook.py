"""One signed POST to a darkroom's webhook, by the Standard Webhooks rules (version 1.0.0)."""

import base64
import hashlib
import hmac
import socket
import ssl
from typing import Any

from urllib3.connection import HTTPConnection, HTTPSConnection
from urllib3.exceptions import HTTPError

from accounts.commands import webhook
from accounts.models import Delivery
from accounts.sending import words
from accounts.sending.address import Target, resolve
from accounts.sending.limit import Undelivered, cut_off
from darkroom_service import clock

STEP_SECONDS, WHOLE_SECONDS = 10, 30
MOST_READ = 4096


def send(row: Delivery) -> None:
    """Post one event; return when the other side said 2xx, else raise. No redirect is followed."""
    hook = row.notice.darkroom.webhook
    now = clock.now()
    body = words.event(row)
    target = resolve(hook.url)
    headers = {
        "Host": target.url.netloc,
        "Content-Type": "application/json",
        "User-Agent": "darkroom-service",
        "Connection": "close",
        **signed(webhook.secrets_in_force(hook, now), f"msg_{row.public_id}", int(now.timestamp()), body),
    }
    status = _post(target, body, headers)
    if not 200 <= status < 300:
        raise Undelivered(f"The webhook answered {status}.")


def signed(secrets: list[str], message_id: str, timestamp: int, body: bytes) -> dict[str, str]:
    """Return the three headers; while a secret is being changed, one signature for each that counts."""
    content = f"{message_id}.{timestamp}.".encode() + body
    signatures = []
    for secret in secrets:
        key = base64.b64decode(secret.removeprefix(webhook.PREFIX))
        signatures.append(f"v1,{base64.b64encode(hmac.new(key, content, hashlib.sha256).digest()).decode()}")
    return {
        "webhook-id": message_id,
        "webhook-timestamp": str(timestamp),
        "webhook-signature": " ".join(signatures),
    }


class _Kept:
    """Keeps a second handle of the wire, so that a stuck handshake can be cut off too."""

    wire: socket.socket | None = None

    def _new_conn(self) -> socket.socket:
        line: socket.socket = super()._new_conn()  # type: ignore[misc]
        self.wire = line.dup()
        return line


class _Plain(_Kept, HTTPConnection):
    """For insecure settings only."""


class _Secure(_Kept, HTTPSConnection):
    """TLS to a pinned address, with the certificate checked against the name."""


def _post(target: Target, body: bytes, headers: dict[str, str]) -> int:
    """Return the status that the other side answered with; of what it says, only a little is read."""
    connection = _connection(target)
    try:
        with cut_off(WHOLE_SECONDS, lambda: connection.wire):
            connection.request("POST", target.path, body=body, headers=headers, preload_content=False)
            response = connection.getresponse()
            response.read(MOST_READ, decode_content=False)
            return response.status
    except (HTTPError, OSError, ValueError) as fault:
        raise Undelivered(words.one_line(f"The webhook's host: {fault}", 300)) from fault
    finally:
        connection.close()
        if connection.wire is not None:
            connection.wire.close()


def _connection(target: Target) -> Any:
    if target.url.scheme == "http":
        return _Plain(target.ip, target.port, timeout=STEP_SECONDS)
    return _Secure(
        target.ip,
        target.port,
        timeout=STEP_SECONDS,
        ssl_context=ssl.create_default_context(),
        server_hostname=target.host,
        assert_hostname=target.host,
    )
