-- Sets with a note that say nothing of pain in its own column, and after the pain that is
-- over.
-- grain:   one row per set
-- returns: set_id TEXT, lifter TEXT, performed_on TIMESTAMP, exercise TEXT, note TEXT
-- params:  $lifter TEXT; NULL means all
SELECT lower(hex(s.set_key)) AS set_id, s.lifter,
    CAST(s.performed_on AS TIMESTAMP) AS performed_on, n.text AS exercise, d.note
FROM set_detail AS d
JOIN logged_set AS s ON s.set_key = d.set_key
JOIN exercise_name AS n ON n.name_key = s.name_key
LEFT JOIN pain_over AS p ON p.lifter = s.lifter AND s.performed_on <= p.until
ANTI JOIN deleted_set AS x ON x.set_key = s.set_key
WHERE d.note <> '' AND d.pain IS NULL AND p.lifter IS NULL
    AND ($lifter IS NULL OR s.lifter = $lifter)
ORDER BY s.performed_on DESC, s.lifter, s.set_key
