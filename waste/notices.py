"""What is due of containers and pickups: each kind finds it over all darkrooms at once, from an indexed column."""

from accounts.notices import TECHNICIANS
from darkroom_service.due import Due

DESK = f"(m.is_admin OR {TECHNICIANS})"

_NEAR_FULL = """
SELECT v.darkroom_id, {nobody} AS person_id, 'container:' || {id:v.public_id} AS subject,
    {local:COALESCE(v.began_at, v.opened_at)|d.zone} AS due_on,
    v.name || ' (' || v.code || ') is filled to ' || CAST(v.contents * 100 / v.working_fill AS text)
        || ' %% of its working fill. Have an empty one ready, and plan a pickup.' AS text,
    '' AS own_text, 'containers/' || {id:v.public_id} AS path
FROM waste_container v {room:v.darkroom_id}
WHERE {near} AND v.contents * 100 >= v.working_fill * {lead}
"""

_TIME = """
SELECT v.darkroom_id, {nobody} AS person_id, 'container:' || {id:v.public_id} AS subject,
    {plus:{local:v.began_at|d.zone}|CASE d.country_rules WHEN 'US' THEN 180 ELSE 365 END} AS due_on,
    v.name || ' (' || v.code || ') has held waste since ' || {day:{local:v.began_at|d.zone}}
        || '. By the usual limit it must leave within ' || CASE d.country_rules WHEN 'US' THEN '180' ELSE '365' END
        || ' days of that; the waste standing and local rules say more. Plan a pickup now.' AS text,
    '' AS own_text, 'containers/' || {id:v.public_id} AS path
FROM waste_container v {room:v.darkroom_id}
WHERE {near}
    AND {plus:{local:v.began_at|d.zone}|CASE d.country_rules WHEN 'US' THEN 180 ELSE 365 END}
        <= {plus:t.day|{lead}}
    AND (d.country_rules <> 'US' OR 909091 < (
        SELECT SUM(f.volume) FROM waste_fill f JOIN waste_container c ON c.id = f.container_id
        WHERE c.darkroom_id = v.darkroom_id AND f.occurred_at >= v.began_at))
"""

_PICKUP = """
SELECT v.darkroom_id, {nobody} AS person_id, 'pickup:' || {id:v.public_id} AS subject, v.planned_for AS due_on,
    'Pickup ' || v.code || ' is planned for ' || {day:v.planned_for}
        || CASE v.state WHEN 'planned' THEN '. Prepare its containers and papers before then.'
            ELSE '. It is prepared: confirm it once it is gone.' END AS text,
    '' AS own_text, 'pickups/' || {id:v.public_id} AS path
FROM waste_pickup v {room:v.darkroom_id}
WHERE {near} AND v.planned_for <= {plus:t.day|{lead}}
"""

_PAPERS = """
SELECT v.darkroom_id, {nobody} AS person_id, 'pickup:' || {id:v.public_id} AS subject, v.returned_due AS due_on,
    'The signed copy or receipt of pickup ' || v.code || ' is due by ' || {day:v.returned_due}
        || ' and not here yet. Ask the carrier for it; local rules may ask for a report of its loss.' AS text,
    '' AS own_text, 'pickups/' || {id:v.public_id} AS path
FROM waste_pickup v {room:v.darkroom_id}
WHERE {near}
    AND v.returned_due <= {plus:t.day|{lead}}
"""

KINDS = (
    # Open containers that are nearly full; told once for each filling.
    Due(
        "container-near-full", _NEAR_FULL, TECHNICIANS,
        "waste_container v", "v.state = 'open' AND v.contents >= (v.working_fill / 2)",
    ),
    # Containers whose oldest waste has waited long: a year, or 180 days where a US darkroom made over 100 kg since. A
    # warning, not the law's own sum: the waste standing counts by category. Sources: Directive 1999/31/EC, Article 2
    # (g), and 40 CFR 262.16(b), as the rules of accumulation cite them; 100 kg at 1.10 kg/L are 90.9 L.
    Due(
        "container-time", _TIME, DESK,
        "waste_container v", "v.contents > 0 AND v.began_at < {plus:{farthest}|-178}",
    ),
    # Pickups that come soon, or should have come and are not confirmed.
    Due(
        "pickup-due", _PICKUP, DESK,
        "waste_pickup v", "v.state IN ('planned', 'prepared') AND v.planned_for <= {farthest}",
    ),
    # Confirmed pickups whose signed copy or receipt is due and not here.
    Due(
        "paperwork-missing", _PAPERS, DESK,
        "waste_pickup v", "v.state = 'confirmed' AND v.returned_on IS NULL AND v.returned_due <= {farthest}",
    ),
)  # fmt: skip
