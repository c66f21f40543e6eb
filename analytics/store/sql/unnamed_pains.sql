-- Sets with pain whose exercise name has no meaning yet.
-- grain:   one row per set
-- returns: lifter TEXT, performed_on TIMESTAMP, movement TEXT (empty), variant TEXT (the
--          name as logged), flag TEXT (empty), pain DOUBLE, note TEXT
-- params:  $lifter TEXT; NULL means all
SELECT s.lifter, CAST(s.performed_on AS TIMESTAMP) AS performed_on, '' AS movement,
    n.text AS variant, '' AS flag, d.pain,
    coalesce(d.note, '') AS note
FROM logged_set AS s
JOIN set_detail AS d ON d.set_key = s.set_key
JOIN exercise_name AS n ON n.name_key = s.name_key
ANTI JOIN deleted_set AS x ON x.set_key = s.set_key
WHERE n.variant IS NULL AND d.pain > 0 AND ($lifter IS NULL OR s.lifter = $lifter)
ORDER BY s.performed_on, s.lifter, n.text
