-- Exercise names as logged and what each is taken to mean.
-- grain:   one row per name
-- returns: text TEXT, variant TEXT, likeness DOUBLE, decided_by TEXT, sets BIGINT,
--          lifters BIGINT
-- params:  none
WITH standing AS (
    SELECT s.set_key, s.name_key, s.lifter
    FROM logged_set AS s
    ANTI JOIN deleted_set AS x ON x.set_key = s.set_key
)
SELECT n.text, n.variant, n.likeness, n.decided_by, count(s.set_key) AS sets,
    count(DISTINCT s.lifter) AS lifters
FROM exercise_name AS n
LEFT JOIN standing AS s ON s.name_key = n.name_key
GROUP BY n.name_key, n.text, n.variant, n.likeness, n.decided_by
ORDER BY sets DESC, n.text
