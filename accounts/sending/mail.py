"""One mail: its own Message-ID, a way out of the list, and no header that anybody could have typed into it."""

import re
import smtplib
from email.utils import formataddr, parseaddr

from django.conf import settings
from django.core.mail import EmailMultiAlternatives, get_connection
from django.core.mail.message import BadHeaderError

from accounts.models import Delivery
from accounts.sending import words
from accounts.sending.limit import Undelivered, cut_off

# One address and nothing that could begin a second one, or a header.
ADDRESS = re.compile(r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~.-]{1,64}@[A-Za-z0-9.-]{1,255}", re.ASCII)


def send(rows: list[Delivery]) -> None:
    """Hand one mail to the mail server for these deliveries to one reader; return once it took it, else raise."""
    message = compose(rows)
    connection = get_connection(fail_silently=False)
    try:
        connection.open()
        # A whole exchange takes three waits at most, well within the lease.
        with cut_off(
            3 * settings.EMAIL_TIMEOUT, lambda: getattr(getattr(connection, "connection", None), "sock", None)
        ):
            taken = connection.send_messages([message])
    except (OSError, smtplib.SMTPException, BadHeaderError) as fault:
        raise Undelivered(words.one_line(f"The mail server: {fault}", 300)) from fault
    finally:
        _close(connection)
    if not taken:
        raise Undelivered("The mail server took nothing.")


def compose(rows: list[Delivery]) -> EmailMultiAlternatives:
    """Return the mail for these deliveries; the first one's Message-ID stands for all of them."""
    notices = [row.notice for row in rows]
    first = rows[0]
    reader = first.notice.to
    if not ADDRESS.fullmatch(reader.person.email):
        raise Undelivered("The address on the account cannot be written to. Let them correct it.", final=True)
    name, address = parseaddr(settings.DEFAULT_FROM_EMAIL)
    room = words.one_line(first.notice.darkroom.name, 60)
    message = EmailMultiAlternatives(
        subject=words.subject(notices),
        body=words.plain(notices),
        from_email=formataddr((f"{room} ({name})" if name else room, address)),
        to=[reader.person.email],
        headers={
            "Message-ID": first.message_id,
            "List-Unsubscribe": f"<{words.unsubscribe_address(reader)}>",
            "List-Unsubscribe-Post": "List-Unsubscribe=One-Click",
            "Auto-Submitted": "auto-generated",
        },
    )
    message.attach_alternative(words.as_html(notices), "text/html")
    return message


def _close(connection: object) -> None:
    """Leave without waiting: what the server says to goodbye changes nothing that it took before."""
    try:
        connection.close()  # type: ignore[attr-defined]
    except (OSError, smtplib.SMTPException):
        return
