"""What must also leave the inbox: a delivery for each notice and each way its reader wants to be told."""

import json
from collections.abc import Iterable

from django.conf import settings
from django.db import connection

# Written out, since the ORM has no INSERT ... SELECT: one statement for each channel, however many notices there are.
COLUMNS = "public_id, notice_id, channel, event, state, due_at, tries, fence, error"
MAIL = """
INSERT INTO accounts_delivery ({columns})
SELECT {uuid}, n.id, 'email', NULL, 'waiting', n.posted_at, 0, 0, ''
FROM accounts_notice n
JOIN accounts_membership m ON m.id = n.to_id
JOIN accounts_person p ON p.id = m.person_id
LEFT JOIN accounts_preference f ON f.membership_id = m.id
WHERE n.id IN ({ids}) AND p.email <> '' AND p.is_active AND m.left_at IS NULL
  AND (n.safety OR COALESCE(f.mail, 'each') <> 'off')
ON CONFLICT DO NOTHING
"""
# What many people are told is one event: the unique event name keeps one delivery, whoever else is told later.
WEBHOOK = """
INSERT INTO accounts_delivery ({columns})
SELECT {uuid}, MIN(n.id), 'webhook',
       n.darkroom_id || ':' || n.kind || ':' || n.subject || ':' || CAST(n.due_on AS text),
       'waiting', MIN(n.posted_at), 0, 0, ''
FROM accounts_notice n
JOIN accounts_webhook w ON w.darkroom_id = n.darkroom_id AND w.ended_at IS NULL
WHERE n.id IN ({ids})
GROUP BY n.darkroom_id, n.kind, n.subject, n.due_on
ON CONFLICT DO NOTHING
"""
ENGINES = {
    "postgresql": {
        "uuid": "gen_random_uuid()",
        "ids": "SELECT unnest(CAST(%s AS bigint[]))",  # of which the planner knows how many they are
    },
    "sqlite": {"uuid": "lower(hex(randomblob(16)))", "ids": "SELECT value FROM json_each(%s)"},
}


def queue(notice_ids: Iterable[int]) -> None:
    """Queue the deliveries of these new notices, in the transaction that wrote them; again does no harm.

    Mail is queued only where mail is set up, else the first day of a mail server would send what is long past.
    """
    ids = list(notice_ids)
    if not ids:
        return
    words = ENGINES[connection.vendor]
    told = ids if connection.vendor == "postgresql" else json.dumps(ids)
    with connection.cursor() as cursor:
        for statement in (MAIL, WEBHOOK) if settings.MAIL_READY else (WEBHOOK,):
            cursor.execute(statement.format(columns=COLUMNS, **words), [told])
