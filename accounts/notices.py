"""What is due of people and their training, and the conditions by which every app says whom to tell.

In a condition ``m`` is a membership of the darkroom that has not left. Where a role is held by nobody, who comes next
is told instead, so that nothing due is told to nobody.
"""

from darkroom_service.due import Due, Involved

_NO_TECHNICIAN = (
    "NOT EXISTS (SELECT 1 FROM accounts_membership x"
    " WHERE x.darkroom_id = m.darkroom_id AND x.left_at IS NULL AND x.is_technician)"
)
_NO_INSTRUCTOR = (
    "NOT EXISTS (SELECT 1 FROM accounts_membership x"
    " WHERE x.darkroom_id = m.darkroom_id AND x.left_at IS NULL AND x.is_instructor)"
)
TECHNICIANS = (
    f"(m.is_technician OR (m.is_instructor AND {_NO_TECHNICIAN})"
    f" OR (m.is_admin AND {_NO_TECHNICIAN} AND {_NO_INSTRUCTOR}))"
)
STAFF = f"(m.is_technician OR m.is_instructor OR (m.is_admin AND {_NO_TECHNICIAN} AND {_NO_INSTRUCTOR}))"
INSTRUCTORS = f"(m.is_instructor OR (m.is_admin AND {_NO_INSTRUCTOR}))"

_EXPIRING = """
SELECT d.id AS darkroom_id, s.trainee_id AS person_id, 'sign-off:' || {id:s.public_id} AS subject,
    {last:s.expires_at|d.zone} AS due_on,
    'A sign-off in ' || o.name || ' counts until ' || {day:{last:s.expires_at|d.zone}}
        || '; the link says whose. Renew it before then, or that person may no longer do what it is for.' AS text,
    'Your sign-off in ' || o.name || ' counts until ' || {day:{last:s.expires_at|d.zone}}
        || '. After that you may no longer do what it is for. Ask an instructor to renew it before then.' AS own_text,
    'sign-offs/' || {id:s.public_id} AS path
FROM accounts_signoff s
JOIN accounts_topic o ON o.id = s.topic_id AND o.retired_at IS NULL
JOIN accounts_topicversion g ON g.id = s.topic_version_id
{room:o.darkroom_id}
JOIN accounts_membership w ON w.id = s.trainee_id AND w.left_at IS NULL
WHERE {near}
    AND {last:s.expires_at|d.zone} <= {plus:t.day|{lead}}
    AND NOT EXISTS (SELECT 1 FROM accounts_revocation r WHERE r.sign_off_id = s.id)
    AND NOT EXISTS (
        SELECT 1 FROM accounts_signoff x
        WHERE x.topic_id = s.topic_id AND x.trainee_id = s.trainee_id AND x.expires_at > s.expires_at
            AND NOT EXISTS (SELECT 1 FROM accounts_revocation r WHERE r.sign_off_id = x.id))
    AND NOT EXISTS (
        SELECT 1 FROM accounts_topicversion y
        WHERE y.topic_id = s.topic_id AND y.number > g.number AND y.stale_from <= s.expires_at)
"""

_STALE = """
SELECT d.id AS darkroom_id, s.trainee_id AS person_id, 'sign-off:' || {id:s.public_id} AS subject,
    {last:y.stale_from|d.zone} AS due_on,
    'The topic ' || o.name || ' has a new version: a sign-off for an earlier one counts until '
        || {day:{last:y.stale_from|d.zone}}
        || '; the link says whose. Show them what is new and sign them off before then.' AS text,
    'The topic ' || o.name || ' has a new version: your sign-off counts until '
        || {day:{last:y.stale_from|d.zone}}
        || '. Read what is new, and ask an instructor to sign you off anew before then.' AS own_text,
    'sign-offs/' || {id:s.public_id} AS path
FROM accounts_topicversion y
JOIN accounts_topic o ON o.id = y.topic_id AND o.retired_at IS NULL
JOIN accounts_signoff s ON s.topic_id = o.id AND s.expires_at > y.stale_from
JOIN accounts_topicversion g ON g.id = s.topic_version_id AND g.number < y.number
{room:o.darkroom_id}
JOIN accounts_membership w ON w.id = s.trainee_id AND w.left_at IS NULL
WHERE {near}
    AND {last:y.stale_from|d.zone} <= {plus:t.day|{lead}}
    AND NOT EXISTS (SELECT 1 FROM accounts_revocation r WHERE r.sign_off_id = s.id)
    AND NOT EXISTS (
        SELECT 1 FROM accounts_topicversion e
        WHERE e.topic_id = y.topic_id AND e.number > g.number AND e.stale_from < y.stale_from)
    AND NOT EXISTS (
        SELECT 1 FROM accounts_signoff x
        JOIN accounts_topicversion h ON h.id = x.topic_version_id AND h.number >= y.number
        WHERE x.topic_id = s.topic_id AND x.trainee_id = s.trainee_id AND x.expires_at > y.stale_from
            AND NOT EXISTS (SELECT 1 FROM accounts_revocation r WHERE r.sign_off_id = x.id))
"""

KINDS = (
    # Sign-offs whose last day is near, unless a later one follows or a new version of the topic ends them sooner.
    Due(
        "sign-off-expiring", _EXPIRING, INSTRUCTORS,
        "accounts_signoff s", "s.expires_at > %(now)s AND s.expires_at < {plus:{farthest}|2}", Involved.TOO,
    ),
    # Sign-offs that a new version of their topic will soon outdate, unless one for the new version follows.
    Due(
        "sign-off-stale", _STALE, INSTRUCTORS,
        "accounts_topicversion y", "y.stale_from > %(now)s AND y.stale_from < {plus:{farthest}|2}", Involved.TOO,
    ),
)  # fmt: skip
