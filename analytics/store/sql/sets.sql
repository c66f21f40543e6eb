-- Sets whose exercise name has a meaning, with what the catalogue says of it.
-- grain:   one row per set
-- returns: set_id TEXT, lifter TEXT, performed_on TIMESTAMP, movement TEXT, variant TEXT,
--          equipment TEXT, side TEXT, load_kg DOUBLE, on_body BOOLEAN, arms_share DOUBLE,
--          body_share DOUBLE, body_mass_kg DOUBLE, body_mass_on TIMESTAMP, reps DOUBLE,
--          rir DOUBLE, rir_half DOUBLE, failed BOOLEAN, failed_at_deg DOUBLE,
--          range_from_deg DOUBLE, range_to_deg DOUBLE, stance TEXT, rotation_deg DOUBLE,
--          hold_s DOUBLE, angle_deg DOUBLE, tempo TEXT, pain DOUBLE, lean_deg DOUBLE,
--          cheat BOOLEAN, note TEXT, flag TEXT, intake_id INTEGER, source_row BIGINT
-- params:  $entries STRUCT[] (catalogue), $lifter TEXT, $movement TEXT, $variant TEXT,
--          $since DATE, $until DATE; NULL means all
WITH entry AS (
    SELECT unnest($entries, recursive := true)
    UNION ALL BY NAME
    SELECT variant, movement, title, 'machine' AS implement, 1 AS arms,
        1.0 AS arms_share, 0.0 AS body_share
    FROM own_variant
),
chosen AS (
    SELECT s.*, d.* EXCLUDE (set_key, side, on_body, stance, tempo, note),
        coalesce(d.side, '') AS side, coalesce(d.on_body, false) AS on_body,
        coalesce(d.stance, '') AS stance, coalesce(d.tempo, '') AS tempo,
        coalesce(d.note, '') AS note, e.movement, e.variant, e.body_share,
        CASE
            WHEN e.implement = 'dumbbell' AND d.load_counts = 'per_hand' THEN 1.0
            WHEN e.implement = 'dumbbell' AND d.load_counts = 'total' THEN e.arms
            ELSE e.arms_share
        END AS arms_share
    FROM logged_set AS s
    LEFT JOIN set_detail AS d ON d.set_key = s.set_key
    JOIN exercise_name AS n ON n.name_key = s.name_key
    JOIN entry AS e ON e.variant = n.variant
    ANTI JOIN deleted_set AS x ON x.set_key = s.set_key
    WHERE ($lifter IS NULL OR s.lifter = $lifter)
        AND ($movement IS NULL OR e.movement = $movement)
        AND ($variant IS NULL OR e.variant = $variant)
),
weighing AS (
    SELECT lifter, weighed_on, avg(body_mass_kg) AS body_mass_kg
    FROM (
        SELECT lifter, measured_on AS weighed_on, body_mass_kg FROM body
        UNION ALL
        SELECT s.lifter, s.performed_on, d.body_mass_kg
        FROM set_detail AS d
        JOIN logged_set AS s ON s.set_key = d.set_key
        ANTI JOIN deleted_set AS x ON x.set_key = d.set_key
    )
    WHERE body_mass_kg IS NOT NULL AND ($lifter IS NULL OR lifter = $lifter)
    GROUP BY lifter, weighed_on
),
said_right AS (  -- by a person, since what made the set look like a slip was last changed
    SELECT set_key FROM set_history
    WHERE column_name IN ('doubt', 'load_kg', 'reps', 'name_key')
    GROUP BY set_key HAVING arg_max(column_name, changed_at) = 'doubt'
),
training_day AS (
    SELECT DISTINCT lifter, performed_on FROM chosen
),
day_mass AS (
    SELECT d.lifter, d.performed_on,
        coalesce(
            a.weighed_on - d.performed_on < d.performed_on - b.weighed_on,
            b.weighed_on IS NULL
        ) AS later,
        CASE WHEN later THEN a.body_mass_kg ELSE b.body_mass_kg END AS body_mass_kg,
        CASE WHEN later THEN a.weighed_on ELSE b.weighed_on END AS body_mass_on
    FROM training_day AS d
    ASOF LEFT JOIN weighing AS b
        ON b.lifter = d.lifter AND b.weighed_on <= d.performed_on
    ASOF LEFT JOIN weighing AS a
        ON a.lifter = d.lifter AND a.weighed_on >= d.performed_on
),
-- Load on one rough common scale, only to compare a set with its neighbours. Holds at
-- a strong angle and loads added to the body differ by more than any slip would.
day_best AS (
    SELECT lifter, variant, equipment, side, performed_on,
        max(load_kg * (1 + least(coalesce(reps, 1), 12) / 30)) AS best_kg
    FROM chosen
    WHERE NOT on_body AND load_kg > 0 AND hold_s IS NULL AND body_share = 0
    GROUP BY lifter, variant, equipment, side, performed_on
),
neighbours AS (
    SELECT lifter, variant, equipment, side, performed_on, best_kg,
        max(best_kg) OVER around AS near_best_kg,
        count(*) OVER around AS near_days
    FROM day_best
    WINDOW around AS (
        PARTITION BY lifter, variant, equipment, side
        ORDER BY performed_on ROWS BETWEEN 3 PRECEDING AND 3 FOLLOWING
            EXCLUDE CURRENT ROW
    )
)
SELECT lower(hex(c.set_key)) AS set_id, c.lifter,
    CAST(c.performed_on AS TIMESTAMP) AS performed_on, c.movement, c.variant, c.equipment,
    c.side, c.load_kg, c.on_body, CAST(c.arms_share AS DOUBLE) AS arms_share,
    CAST(c.body_share AS DOUBLE) AS body_share, m.body_mass_kg,
    CAST(m.body_mass_on AS TIMESTAMP) AS body_mass_on, c.reps, c.rir, c.rir_half, c.failed,
    c.failed_at_deg, c.range_from_deg, c.range_to_deg, c.stance, c.rotation_deg, c.hold_s,
    c.angle_deg, c.tempo, c.pain, c.lean_deg, c.cheat, c.note,
    CASE
        WHEN n.near_days >= 2 AND c.hold_s IS NULL AND r.set_key IS NULL
            AND c.load_kg * (1 + least(coalesce(c.reps, 1), 12) / 30)
                > 1.3 * n.near_best_kg
        THEN format(
            'implausible: {:.1f} times the best of the {} nearest training days',
            c.load_kg * (1 + least(coalesce(c.reps, 1), 12) / 30) / n.near_best_kg,
            n.near_days
        )
        ELSE ''
    END AS flag,
    c.intake_id, c.source_row
FROM chosen AS c
LEFT JOIN day_mass AS m ON m.lifter = c.lifter AND m.performed_on = c.performed_on
LEFT JOIN neighbours AS n
    ON n.lifter = c.lifter AND n.variant = c.variant AND n.equipment = c.equipment
    AND n.side = c.side AND n.performed_on = c.performed_on
    AND NOT c.on_body
LEFT JOIN said_right AS r ON r.set_key = c.set_key
WHERE ($since IS NULL OR c.performed_on >= $since)
    AND ($until IS NULL OR c.performed_on <= $until)
ORDER BY c.performed_on, c.lifter, c.intake_id, c.source_sheet, c.source_row, c.set_key
