-- Exercise names as logged and what each is taken to mean.
-- grain:   one row per name
-- returns: text TEXT, variant TEXT, likeness DOUBLE, decided_by TEXT, sets BIGINT,
--          lifters BIGINT
-- params:  none
SELECT n.text, n.variant, n.likeness, n.decided_by, count(s.set_key) AS sets,
    count(DISTINCT s.lifter) AS lifters
FROM exercise_name AS n
LEFT JOIN logged_set AS s ON s.name_key = n.name_key AND NOT s.deleted
GROUP BY n.name_key, n.text, n.variant, n.likeness, n.decided_by
ORDER BY sets DESC, n.text
