-- Sets far from those around them, whatever they are called, as a misplaced decimal sign
-- or another unit makes them. A set in between may be a warm-up, so little counts only
-- from an eighth, and under 25 kg a threefold load is but another way of doing it.
-- grain:   one row per set
-- returns: set_id TEXT, lifter TEXT, performed_on TIMESTAMP, exercise TEXT, load_kg DOUBLE,
--          reps DOUBLE, times DOUBLE (of the middle of the sets around it)
-- params:  $on_body TEXT[] (variants that carry the body as well, so that what is added to
--          it says little)
WITH said_right AS (  -- by a person, since what made the set look like a slip was last changed
    SELECT set_key FROM set_history
    WHERE column_name IN ('doubt', 'load_kg', 'reps', 'name_key')
    GROUP BY set_key HAVING arg_max(column_name, changed_at) = 'doubt'
),
standing AS (
    SELECT s.set_key, s.lifter, s.performed_on, n.text AS exercise, s.load_kg, s.reps,
        coalesce(n.variant, n.name_key) AS what, s.equipment,
        coalesce(d.side, '') AS side, s.intake_id, s.source_row,
        s.load_kg * (1 + least(coalesce(s.reps, 1), 12) / 30) AS scale_kg
    FROM logged_set AS s
    JOIN exercise_name AS n ON n.name_key = s.name_key
    LEFT JOIN set_detail AS d ON d.set_key = s.set_key
    ANTI JOIN deleted_set AS x ON x.set_key = s.set_key
    WHERE s.load_kg > 0 AND NOT coalesce(d.on_body, false) AND d.hold_s IS NULL
        AND NOT coalesce(list_contains($on_body, n.variant), false)
),
beside AS (
    SELECT *, scale_kg / median(scale_kg) OVER around AS times,
        count(*) OVER around AS sets_around
    FROM standing
    WINDOW around AS (
        PARTITION BY lifter, what, equipment, side
        ORDER BY performed_on, intake_id, source_row, set_key
        ROWS BETWEEN 8 PRECEDING AND 8 FOLLOWING EXCLUDE CURRENT ROW
    )
)
SELECT lower(hex(beside.set_key)) AS set_id, lifter,
    CAST(performed_on AS TIMESTAMP) AS performed_on, exercise, load_kg, reps, times
FROM beside
ANTI JOIN said_right AS r ON r.set_key = beside.set_key
WHERE sets_around >= 3 AND (times > 3 AND load_kg >= 25 OR times < 0.125)
ORDER BY performed_on DESC, lifter, beside.set_key
