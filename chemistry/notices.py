"""What is due of vessels, batches and packs: each kind finds it over all darkrooms at once, from an indexed column."""

from datetime import datetime, timedelta

from accounts.acts import Role
from accounts.commands import notice
from accounts.models import Darkroom, Notice
from accounts.notices import STAFF, TECHNICIANS
from chemistry.commands import outlook
from darkroom_service.due import Due, Involved

STOCK = "stock-to-make"
AGAIN = timedelta(days=7)
WORDS = {
    outlook.MIX: "{} should be mixed by {}: request a batch now. The plain sum (computed):",
    outlook.ORDER: "{} should be ordered by {}: order packs now. The plain sum (computed):",
}


def stock_to_make(room: Darkroom, at: datetime) -> list[Notice]:
    """What should be mixed or ordered soon in one darkroom, by its own use; told again after a week at the earliest.

    No single statement finds it: the forecast is worked out for each darkroom, once on each of its days.
    """
    wanted = {f"formula:{each.formula.public_id}:{each.what}": each for each in outlook.shortages(room, at)}
    if not wanted:
        return []
    told = Notice.objects.filter(darkroom=room, kind=STOCK, subject__in=wanted, posted_at__gt=at - AGAIN)
    again = set(told.values_list("subject", "to"))
    readers = notice.readers(room, STOCK, (Role.TECHNICIAN,))
    return [
        Notice(
            darkroom=room, to_id=reader, kind=STOCK, subject=subject, due_on=each.by, posted_at=at,
            text=f"{WORDS[each.what].format(each.formula.name, each.by)} {each.why}"[:1000],
            path=f"formulas/{each.formula.public_id}",
        )
        for subject, each in wanted.items()
        for reader in readers
        if (subject, reader) not in again
    ]  # fmt: skip


_NEAR_EXPIRY = """
SELECT v.darkroom_id, v.owner_id AS person_id, 'vessel:' || {id:v.public_id} AS subject, v.use_by AS due_on,
    v.name || ' (' || v.code || ') is good until ' || {day:v.use_by} || ': ' || v.use_by_rule
        || '. Use it up first, or have it tested before then.' AS text,
    v.name || ' (' || v.code || '), your own bottle, is good until ' || {day:v.use_by} || ': ' || v.use_by_rule
        || '. Use it up, or empty it to waste after that.' AS own_text,
    'vessels/' || {id:v.public_id} AS path
FROM chemistry_vessel v {room:v.darkroom_id}
WHERE {near} AND v.use_by BETWEEN t.day AND {plus:t.day|{lead}}
    AND v.state IN ('waiting', 'ready', 'test_first') AND v.use <> 'replenished'
    AND v.filled_at < {plus:v.use_by|-{lead}}
"""

_EXPIRED = """
SELECT v.darkroom_id, v.owner_id AS person_id, 'vessel:' || {id:v.public_id} AS subject, v.use_by AS due_on,
    v.name || ' (' || v.code || ') was good until ' || {day:v.use_by} || ': ' || v.use_by_rule
        || '. Test it before anybody uses it again, or empty it to waste.' AS text,
    v.name || ' (' || v.code || '), your own bottle, was good until ' || {day:v.use_by} || ': ' || v.use_by_rule
        || '. Have it tested before you use it again, or empty it to waste.' AS own_text,
    'vessels/' || {id:v.public_id} AS path
FROM chemistry_vessel v {room:v.darkroom_id}
WHERE {near} AND v.use_by < t.day
    AND v.state IN ('waiting', 'ready', 'test_first') AND v.use <> 'replenished'
"""

_STRIP = """
SELECT v.darkroom_id, v.owner_id AS person_id, 'vessel:' || {id:v.public_id} AS subject, v.use_by AS due_on,
    v.name || ' (' || v.code || ') is due for its control strip on ' || {day:v.use_by} || ' (' || v.use_by_rule
        || '). Run a strip and record it before the next film.' AS text,
    v.name || ' (' || v.code || ') is due for its control strip on ' || {day:v.use_by}
        || '. Run a strip and record it before your next film.' AS own_text,
    'vessels/' || {id:v.public_id} AS path
FROM chemistry_vessel v {room:v.darkroom_id}
WHERE {near} AND v.use_by <= t.day
    AND v.state IN ('waiting', 'ready', 'test_first') AND v.use = 'replenished'
"""

_NEAR_CAPACITY = """
SELECT v.darkroom_id, v.owner_id AS person_id, 'vessel:' || {id:v.public_id} AS subject,
    {local:v.filled_at|d.zone} AS due_on,
    v.name || ' (' || v.code || ') has done ' || CAST(v.load * 100 / v.load_limit AS text)
        || ' %% of the film or paper it can. Have the next one ready before it is spent.' AS text,
    v.name || ' (' || v.code || '), your own bottle, has done ' || CAST(v.load * 100 / v.load_limit AS text)
        || ' %% of what it can. Have the next one ready before it is spent.' AS own_text,
    'vessels/' || {id:v.public_id} AS path
FROM chemistry_vessel v {room:v.darkroom_id}
WHERE {near} AND v.load_limit > 0
    AND v.load * 100 >= v.load_limit * {lead} AND v.state IN ('ready', 'test_first', 'spent')
"""

_TO_APPROVE = """
SELECT v.darkroom_id, CASE WHEN d.second_person_mixing = 'required' THEN v.requested_by_id END AS person_id,
    'batch:' || {id:v.public_id} AS subject, {plus:{local:s.occurred_at|d.zone}|{lead}} AS due_on,
    'Batch ' || v.code || ' of ' || a.name || ' has waited for approval since ' || {day:{local:s.occurred_at|d.zone}}
        || '. Approve or reject it, so that its packs are used or free again.' AS text,
    '' AS own_text, 'batches/' || {id:v.public_id} AS path
FROM chemistry_batch v {room:v.darkroom_id}
JOIN chemistry_batchstep s ON s.batch_id = v.id AND s.was = ''
JOIN chemistry_formulaversion fv ON fv.id = v.formula_version_id JOIN chemistry_formula a ON a.id = fv.formula_id
WHERE {near} AND {plus:{local:s.occurred_at|d.zone}|{lead}} <= t.day
"""

_TO_RELEASE = """
SELECT v.darkroom_id, CASE WHEN d.second_person_release = 'required' THEN v.mixed_by_id END AS person_id,
    'batch:' || {id:v.public_id} AS subject, {plus:{local:v.rest_until|d.zone}|{lead}} AS due_on,
    'Batch ' || v.code || ' of ' || a.name || ' has been ready for release since ' || {day:{local:v.rest_until|d.zone}}
        || '. Record its release test if its formula asks for one, then release or withdraw it.' AS text,
    '' AS own_text, 'batches/' || {id:v.public_id} AS path
FROM chemistry_batch v {room:v.darkroom_id}
JOIN chemistry_formulaversion fv ON fv.id = v.formula_version_id JOIN chemistry_formula a ON a.id = fv.formula_id
WHERE {near}
    AND {plus:{local:v.rest_until|d.zone}|{lead}} <= t.day
"""

_PACK_NEAR = """
SELECT v.darkroom_id, {nobody} AS person_id, 'formula:' || {id:a.public_id} AS subject, v.best_before AS due_on,
    'Sealed packs of ' || a.name || ' (' || CAST(COUNT(*) AS text) || ') are good until ' || {day:v.best_before}
        || '. Mix them before the others, and before then.' AS text,
    '' AS own_text, 'formulas/' || {id:a.public_id} AS path
FROM chemistry_pack v {room:v.darkroom_id}
JOIN chemistry_formulaversion fv ON fv.id = v.formula_version_id JOIN chemistry_formula a ON a.id = fv.formula_id
WHERE {near}
    AND v.best_before BETWEEN t.day AND {plus:t.day|{lead}}
GROUP BY v.darkroom_id, a.id, a.public_id, a.name, v.best_before
"""

_PACK_PAST = """
SELECT v.darkroom_id, {nobody} AS person_id, 'formula:' || {id:a.public_id} AS subject, v.best_before AS due_on,
    'Sealed packs of ' || a.name || ' (' || CAST(COUNT(*) AS text) || ') were good until ' || {day:v.best_before}
        || '. What is mixed of them must pass its test before release; or discard them.' AS text,
    '' AS own_text, 'formulas/' || {id:a.public_id} AS path
FROM chemistry_pack v {room:v.darkroom_id}
JOIN chemistry_formulaversion fv ON fv.id = v.formula_version_id JOIN chemistry_formula a ON a.id = fv.formula_id
WHERE {near} AND v.best_before < t.day
GROUP BY v.darkroom_id, a.id, a.public_id, a.name, v.best_before
"""

_PACK_LOW = """
SELECT d.id AS darkroom_id, {nobody} AS person_id, 'formula:' || {id:a.public_id} AS subject,
    {local:k.last|d.zone} AS due_on,
    'Sealed packs of ' || a.name || ' left: ' || CAST(k.sealed AS text) || '. Order more if the room still uses it.'
        AS text,
    '' AS own_text, 'formulas/' || {id:a.public_id} AS path
FROM (
    SELECT fv.formula_id, MAX(p.received_at) AS last, SUM(CASE p.state WHEN 'sealed' THEN 1 ELSE 0 END) AS sealed
    FROM chemistry_pack p JOIN chemistry_formulaversion fv ON fv.id = p.formula_version_id
    WHERE fv.formula_id IN (
        SELECT x.formula_id FROM chemistry_batch b JOIN chemistry_formulaversion x ON x.id = b.formula_version_id
        WHERE {near})
    GROUP BY fv.formula_id) k
JOIN chemistry_formula a ON a.id = k.formula_id {room:a.darkroom_id}
WHERE k.sealed <= {lead}
"""

_SHEET = """
SELECT v.darkroom_id, {nobody} AS person_id, 'formula:' || {id:a.public_id} AS subject,
    {plus:v.sheet_revision|{lead}} AS due_on,
    'The safety data sheet kept for ' || a.name || ' is of ' || {day:v.sheet_revision}
        || '. Ask the supplier whether there is a newer one, and enter its date with the next pack.' AS text,
    '' AS own_text, 'formulas/' || {id:a.public_id} AS path
FROM chemistry_pack v {room:v.darkroom_id}
JOIN chemistry_formulaversion fv ON fv.id = v.formula_version_id JOIN chemistry_formula a ON a.id = fv.formula_id
WHERE {near} AND {plus:v.sheet_revision|{lead}} <= t.day
    AND NOT EXISTS (
        SELECT 1 FROM chemistry_pack q JOIN chemistry_formulaversion y ON y.id = q.formula_version_id
        WHERE y.formula_id = a.id AND q.sheet_revision > v.sheet_revision)
GROUP BY v.darkroom_id, a.id, a.public_id, a.name, v.sheet_revision, l.lead, t.day
"""

KINDS = (
    # Vessels whose last day is near; not those filled when it was near already: who filled them knows.
    Due(
        "vessel-near-expiry", _NEAR_EXPIRY, TECHNICIANS,
        "chemistry_vessel v", "v.contents > 0 AND v.use_by BETWEEN {nearest} AND {farthest}", Involved.INSTEAD,
    ),
    # Vessels past their last day and not empty.
    Due(
        "vessel-expired", _EXPIRED, TECHNICIANS,
        "chemistry_vessel v", "v.contents > 0 AND v.use_by <= {farthest}", Involved.INSTEAD,
    ),
    # Replenished baths whose control strip is due today.
    Due(
        "test-due", _STRIP, TECHNICIANS,
        "chemistry_vessel v", "v.contents > 0 AND v.use_by <= {farthest}", Involved.INSTEAD,
    ),
    # Vessels that have done most of what they can; told once for each filling.
    Due(
        "vessel-near-capacity", _NEAR_CAPACITY, TECHNICIANS,
        "chemistry_vessel v", "v.contents > 0 AND v.load >= (v.load_limit / 2)", Involved.INSTEAD,
    ),
    # Requests that nobody has answered for some days; not told to who asked, where another must approve.
    Due("batch-to-approve", _TO_APPROVE, STAFF, "chemistry_batch v", "v.state = 'requested'", Involved.EXCEPT),
    # Batches whose rest has been over for some days; not told to who mixed, where another must release.
    Due(
        "batch-to-release", _TO_RELEASE, STAFF,
        "chemistry_batch v", "v.state IN ('resting', 'mixed') AND v.rest_until <= %(now)s", Involved.EXCEPT,
    ),
    # Sealed packs whose printed date is near, one notice for all of a formula and date.
    Due(
        "pack-near-date", _PACK_NEAR, TECHNICIANS,
        "chemistry_pack v", "v.state = 'sealed' AND v.best_before BETWEEN {nearest} AND {farthest}",
    ),
    # Sealed packs past their printed date.
    Due(
        "pack-past-date", _PACK_PAST, TECHNICIANS,
        "chemistry_pack v", "v.state = 'sealed' AND v.best_before <= {farthest}",
    ),
    # Formulas of which a pack was opened lately and few sealed ones are left; told once for each delivery.
    Due(
        "pack-low", _PACK_LOW, TECHNICIANS,
        "chemistry_batch b", "b.mixing_started_at > %(lately)s AND b.origin IN ('mixed', 'opened')",
    ),
    # Formulas with sealed packs whose newest safety data sheet is old.
    Due(
        "sheet-old", _SHEET, TECHNICIANS,
        "chemistry_pack v", "v.state = 'sealed' AND v.sheet_revision <= {oldest}",
    ),
)  # fmt: skip
