"""Do the totals, states and costs kept on vessels and batches follow from the rows beneath them?"""

from chemistry.commands.question import Question

VESSELS = (
    Question(
        "vessel {}: says {} contents and {} basis (0.1 mL), its movements say {} and {}",
        """
        SELECT v.code, v.contents, v.basis, COALESCE(m.contents, 0), COALESCE(m.basis, 0)
        FROM chemistry_vessel v LEFT JOIN (
            SELECT vessel, SUM(contents) AS contents, SUM(basis) AS basis FROM (
                SELECT target_vessel_id AS vessel, volume AS contents, target_basis AS basis
                FROM chemistry_movement WHERE target_vessel_id IS NOT NULL
                UNION ALL
                SELECT source_vessel_id, -volume, -source_basis
                FROM chemistry_movement WHERE source_vessel_id IS NOT NULL) sides
            GROUP BY vessel) m ON m.vessel = v.id
        WHERE (v.contents <> COALESCE(m.contents, 0) OR v.basis <> COALESCE(m.basis, 0)) AND {room}
        """,
    ),
    Question(
        "vessel {}: says {} load and {} area, its charges say {} and {}",
        """
        SELECT v.code, v.load, v.area, COALESCE(c.load, 0), COALESCE(c.area, 0)
        FROM chemistry_vessel v LEFT JOIN (
            SELECT vessel_id, SUM(load) AS load, SUM(area) AS area FROM chemistry_charge GROUP BY vessel_id
        ) c ON c.vessel_id = v.id
        WHERE (v.load <> COALESCE(c.load, 0) OR v.area <> COALESCE(c.area, 0)) AND {room}
        """,
    ),
    Question(
        "vessel {}: {} of 0.1 mL stand in it under batch {}, which it does not hold",
        """
        SELECT v.code, s.volume, b.code FROM (
            SELECT vessel, batch, SUM(volume) AS volume FROM (
                SELECT target_vessel_id AS vessel, target_batch_id AS batch, volume
                FROM chemistry_movement WHERE target_vessel_id IS NOT NULL
                UNION ALL
                SELECT source_vessel_id, source_batch_id, -volume
                FROM chemistry_movement WHERE source_vessel_id IS NOT NULL) sides
            GROUP BY vessel, batch HAVING SUM(volume) <> 0) s
        JOIN chemistry_vessel v ON v.id = s.vessel LEFT JOIN chemistry_batch b ON b.id = s.batch
        WHERE (v.batch_id IS NULL OR s.batch IS NULL OR s.batch <> v.batch_id) AND {room}
        """,
    ),
    Question(
        "vessel {}: holds {} of 0.1 mL and says it is {}",
        """
        SELECT v.code, v.contents, v.state FROM chemistry_vessel v
        WHERE (v.contents = 0) <> (v.state = 'emptied') AND {room}
        """,
    ),
    Question(
        "vessel {}: {} of 0.1 mL are still kept for the plan of entry {}, which was used or given up",
        """
        SELECT v.code, h.volume, e.seq FROM chemistry_hold h JOIN chemistry_tankplan p ON p.id = h.plan_id
        JOIN accounts_entry e ON e.id = p.entry_id JOIN chemistry_vessel v ON v.id = h.vessel_id
        WHERE h.released_at IS NULL AND (p.used_at IS NOT NULL OR p.cancelled_at IS NOT NULL) AND {room}
        """,
    ),
)

BATCHES = (
    Question(
        "batch {}: says {} of 0.1 mL were made, its movements say {}",
        """
        SELECT v.code, v.made, COALESCE(m.made, 0) FROM chemistry_batch v LEFT JOIN (
            SELECT batch, SUM(volume) AS made FROM (
                SELECT COALESCE(source_batch_id, target_batch_id) AS batch, volume
                FROM chemistry_movement WHERE source = 'made'
                UNION ALL
                SELECT COALESCE(target_batch_id, source_batch_id), -volume
                FROM chemistry_movement WHERE target = 'made') sides
            GROUP BY batch) m ON m.batch = v.id
        WHERE v.origin IN ('mixed', 'opened') AND v.made <> COALESCE(m.made, 0) AND {room}
        """,
    ),
    Question(
        "batch {}: says it is {}, its last step says {}",
        """
        SELECT v.code, v.state, s.became FROM chemistry_batch v JOIN chemistry_batchstep s ON s.batch_id = v.id
        WHERE s.id = (SELECT MAX(id) FROM chemistry_batchstep last WHERE last.batch_id = v.id)
            AND s.became <> v.state AND {room}
        """,
    ),
    Question(
        "batch {}: cost {} minor units, its packs and what was passed on to it come to {}",
        """
        SELECT v.code, v.cost_minor, COALESCE(p.price, 0) + COALESCE(s.minor, 0) FROM chemistry_batch v
        LEFT JOIN (SELECT batch_id, SUM(price_minor) AS price FROM chemistry_pack GROUP BY batch_id) p
            ON p.batch_id = v.id
        LEFT JOIN (SELECT into_id, SUM(minor) AS minor FROM chemistry_costshare GROUP BY into_id) s ON s.into_id = v.id
        WHERE v.made > 0 AND v.cost_minor <> COALESCE(p.price, 0) + COALESCE(s.minor, 0) AND {room}
        """,
    ),
    Question(
        "batch {}: cost {} minor units, its shares add up to {}",
        """
        SELECT v.code, v.cost_minor, COALESCE(SUM(s.minor), 0)
        FROM chemistry_batch v LEFT JOIN chemistry_costshare s ON s.batch_id = v.id
        WHERE v.closed_at IS NOT NULL AND {room}
        GROUP BY v.id, v.code, v.cost_minor HAVING v.cost_minor <> COALESCE(SUM(s.minor), 0)
        """,
    ),
    Question(
        "batch {}: its cost is settled, yet {} of 0.1 mL of it stand in {}",
        """
        SELECT v.code, f.contents, f.code FROM chemistry_batch v JOIN chemistry_vessel f ON f.batch_id = v.id
        WHERE v.closed_at IS NOT NULL AND f.contents > 0 AND {room}
        """,
    ),
)

QUESTIONS = (*VESSELS, *BATCHES)
