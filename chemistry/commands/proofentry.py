"""Is what one entry wrote whole and in balance, and what a reversal wrote the exact mirror of what it takes back?"""

from chemistry.commands.question import Question

ENTRIES = (
    Question(
        "entry {}: {} of 0.1 mL more of batch {} went into its tank than came out",
        """
        SELECT v.seq, SUM(m.volume), b.code FROM (
            SELECT entry_id, COALESCE(target_batch_id, source_batch_id) AS batch, volume
            FROM chemistry_movement WHERE target = 'run'
            UNION ALL
            SELECT entry_id, COALESCE(source_batch_id, target_batch_id), -volume
            FROM chemistry_movement WHERE source = 'run') m
        JOIN accounts_entry v ON v.id = m.entry_id LEFT JOIN chemistry_batch b ON b.id = m.batch
        WHERE {room} GROUP BY v.id, v.seq, b.id, b.code HAVING SUM(m.volume) <> 0
        """,
    ),
    Question(
        "entry {}: {} of 0.1 mL went into a container or out of it, and no pour in the waste log is named",
        """
        SELECT v.seq, m.volume FROM chemistry_movement m JOIN accounts_entry v ON v.id = m.entry_id
        WHERE (m.source = 'container' OR m.target = 'container') AND m.fill_id IS NULL AND {room}
        """,
    ),
    Question(
        "entry {}: its pour in the waste log is {} of 0.1 mL, the movements into the container carry {}",
        """
        SELECT e.seq, f.volume,
            COALESCE(SUM(CASE m.target WHEN 'container' THEN m.volume ELSE -m.volume END), 0)
        FROM waste_fill f JOIN accounts_entry e ON e.id = f.entry_id JOIN waste_container v ON v.id = f.container_id
        LEFT JOIN chemistry_movement m ON m.fill_id = f.id
        WHERE (m.id IS NOT NULL OR e.act NOT IN ('fill:create', 'fill:reverse')) AND {room}
        GROUP BY f.id, e.seq, f.volume
        HAVING f.volume <> COALESCE(SUM(CASE m.target WHEN 'container' THEN m.volume ELSE -m.volume END), 0)
        """,
    ),
    Question(
        "entry {}: {} of 0.1 mL went down the drain or came back, and no release is named",
        """
        SELECT v.seq, m.volume FROM chemistry_movement m JOIN accounts_entry v ON v.id = m.entry_id
        WHERE (m.source = 'drain' OR m.target = 'drain') AND m.release_id IS NULL AND {room}
        """,
    ),
    Question(
        "entry {}: its release is {} of 0.1 mL, the movements down the drain carry {}",
        """
        SELECT e.seq, v.volume, COALESCE(SUM(CASE m.target WHEN 'drain' THEN m.volume ELSE -m.volume END), 0)
        FROM waste_drainrelease v JOIN accounts_entry e ON e.id = v.entry_id
        LEFT JOIN chemistry_movement m ON m.release_id = v.id
        WHERE (m.id IS NOT NULL OR e.act NOT IN ('drain:release', 'drain:reverse')) AND {room}
        GROUP BY v.id, e.seq, v.volume
        HAVING v.volume <> COALESCE(SUM(CASE m.target WHEN 'drain' THEN m.volume ELSE -m.volume END), 0)
        """,
    ),
    Question(
        "entry {}: {} load went through, yet vessel {} was charged {}",
        """
        SELECT v.seq, k.load, b.code, c.load FROM chemistry_checkin k
        JOIN chemistry_charge c ON c.entry_id = k.entry_id JOIN chemistry_vessel b ON b.id = c.vessel_id
        JOIN accounts_entry v ON v.id = k.entry_id
        WHERE NOT c.moved AND (c.load < 0 OR c.load > k.load) AND {room}
        """,
    ),
    Question(
        "entry {}: {} load of paper went through, yet tray {} was charged {}",
        """
        SELECT v.seq, t.load, b.code, COALESCE(SUM(c.load), 0) FROM chemistry_tally t
        JOIN chemistry_sessiontray y ON y.session_id = t.session_id JOIN chemistry_vessel b ON b.id = y.vessel_id
        JOIN accounts_entry v ON v.id = t.entry_id
        LEFT JOIN chemistry_charge c ON c.entry_id = t.entry_id AND c.vessel_id = b.id AND NOT c.moved
        WHERE {room}
        GROUP BY t.id, v.seq, t.load, b.id, b.code HAVING t.load <> COALESCE(SUM(c.load), 0)
        """,
    ),
    Question(
        "entry {}: cost its member {} minor units, their shares add up to {}",
        """
        SELECT v.seq, k.cost_minor, COALESCE(SUM(s.minor), 0) FROM (
            SELECT entry_id, member_id, cost_minor FROM chemistry_checkin
            UNION ALL SELECT entry_id, member_id, cost_minor FROM chemistry_tally) k
        JOIN accounts_entry v ON v.id = k.entry_id
        LEFT JOIN chemistry_costshare s ON s.entry_id = k.entry_id AND s.member_id = k.member_id
        WHERE {room}
        GROUP BY v.id, v.seq, k.cost_minor HAVING k.cost_minor <> COALESCE(SUM(s.minor), 0)
        """,
    ),
    Question(
        "entry {}: somebody bears {} minor units of it who had no part in it",
        """
        SELECT v.seq, s.minor FROM chemistry_costshare s JOIN accounts_entry v ON v.id = s.entry_id
        WHERE s.member_id IS NOT NULL AND s.reverses_id IS NULL AND {room}
            AND NOT EXISTS (SELECT 1 FROM chemistry_checkin k
                WHERE k.entry_id = s.entry_id AND k.member_id = s.member_id)
            AND NOT EXISTS (SELECT 1 FROM chemistry_tally t
                WHERE t.entry_id = s.entry_id AND t.member_id = s.member_id)
            AND NOT EXISTS (SELECT 1 FROM chemistry_movement m JOIN chemistry_vessel b ON b.id = m.target_vessel_id
                WHERE m.entry_id = s.entry_id AND b.owner_id = s.member_id)
        """,
    ),
)

REVERSALS = (
    Question(
        "entry {}: was taken back by entry {}, but its {} {} was not",
        """
        SELECT v.seq, e.seq, kept.kind, kept.id FROM chemistry_reversal r
        JOIN accounts_entry v ON v.id = r.target_id JOIN accounts_entry e ON e.id = r.entry_id
        JOIN (
            SELECT 'movement' AS kind, m.id, m.entry_id FROM chemistry_movement m
            LEFT JOIN chemistry_movement back ON back.reverses_id = m.id
            WHERE m.reverses_id IS NULL AND back.id IS NULL
                AND COALESCE(m.source_vessel_id, 0) <> COALESCE(m.target_vessel_id, -1)
            UNION ALL
            SELECT 'charge', c.id, c.entry_id FROM chemistry_charge c
            LEFT JOIN chemistry_charge back ON back.reverses_id = c.id
            WHERE c.reverses_id IS NULL AND back.id IS NULL
            UNION ALL
            SELECT 'share of cost', s.id, s.entry_id FROM chemistry_costshare s
            LEFT JOIN chemistry_costshare back ON back.reverses_id = s.id
            WHERE s.reverses_id IS NULL AND back.id IS NULL
            UNION ALL
            SELECT 'pour', f.id, f.entry_id FROM waste_fill f
            LEFT JOIN waste_fill back ON back.reverses_id = f.id
            WHERE f.reverses_id IS NULL AND back.id IS NULL
            UNION ALL
            SELECT 'release', d.id, d.entry_id FROM waste_drainrelease d
            LEFT JOIN waste_drainrelease back ON back.reverses_id = d.id
            WHERE d.reverses_id IS NULL AND back.id IS NULL) kept ON kept.entry_id = r.target_id
        WHERE {room}
        """,
    ),
    Question(
        "entry {}: its {} {} takes something back that it has no right to",
        """
        SELECT v.seq, back.kind, back.id FROM (
            SELECT 'movement' AS kind, m.id, m.entry_id, t.entry_id AS target
            FROM chemistry_movement m JOIN chemistry_movement t ON t.id = m.reverses_id
            UNION ALL
            SELECT 'charge', c.id, c.entry_id, t.entry_id
            FROM chemistry_charge c JOIN chemistry_charge t ON t.id = c.reverses_id
            UNION ALL
            SELECT 'share of cost', s.id, s.entry_id, t.entry_id
            FROM chemistry_costshare s JOIN chemistry_costshare t ON t.id = s.reverses_id) back
        JOIN accounts_entry v ON v.id = back.entry_id
        LEFT JOIN chemistry_reversal r ON r.entry_id = back.entry_id AND r.target_id = back.target
        WHERE r.id IS NULL AND {room}
        """,
    ),
    Question(
        "entry {}: its movement {} does not mirror the one it takes back",
        """
        SELECT v.seq, m.id FROM chemistry_movement m JOIN chemistry_movement t ON t.id = m.reverses_id
        JOIN accounts_entry v ON v.id = m.entry_id
        WHERE (m.volume <> t.volume OR m.source <> t.target OR m.target <> t.source
            OR COALESCE(m.source_vessel_id, 0) <> COALESCE(t.target_vessel_id, 0)
            OR COALESCE(m.target_vessel_id, 0) <> COALESCE(t.source_vessel_id, 0)) AND {room}
        """,
    ),
    Question(
        "entry {}: its charge {} does not mirror the one it takes back",
        """
        SELECT v.seq, c.id FROM chemistry_charge c JOIN chemistry_charge t ON t.id = c.reverses_id
        JOIN accounts_entry v ON v.id = c.entry_id
        WHERE (c.vessel_id <> t.vessel_id OR c.load <> -t.load OR c.area <> -t.area OR c.moved <> t.moved) AND {room}
        """,
    ),
    Question(
        "entry {}: its share of cost {} does not mirror the one it takes back",
        """
        SELECT v.seq, s.id FROM chemistry_costshare s JOIN chemistry_costshare t ON t.id = s.reverses_id
        JOIN accounts_entry v ON v.id = s.entry_id
        WHERE (s.batch_id <> t.batch_id OR s.minor <> -t.minor
            OR COALESCE(s.member_id, 0) <> COALESCE(t.member_id, 0)
            OR COALESCE(s.into_id, 0) <> COALESCE(t.into_id, 0)) AND {room}
        """,
    ),
)

QUESTIONS = (*ENTRIES, *REVERSALS)
