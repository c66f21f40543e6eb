-- What people changed about sets, oldest first.
-- grain:   one row per changed column
-- returns: changed_at TIMESTAMP, set_id TEXT, performed_on DATE, exercise TEXT,
--          action TEXT, "column" TEXT, before TEXT, after TEXT
-- params:  $set_key UHUGEINT, $lifter TEXT; NULL means all
SELECT h.changed_at, lower(hex(h.set_key)) AS set_id, s.performed_on,
    n.text AS exercise, h.action,
    h.column_name AS "column", h.before, h.after
FROM set_history AS h
LEFT JOIN logged_set AS s ON s.set_key = h.set_key
LEFT JOIN exercise_name AS n ON n.name_key = s.name_key
WHERE ($set_key IS NULL OR h.set_key = CAST($set_key AS UHUGEINT))
    AND ($lifter IS NULL OR s.lifter = $lifter)
ORDER BY h.changed_at, h.rowid
