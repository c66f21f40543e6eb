-- The catalogue and one's own variants, and how many sets each has.
-- grain:   one row per variant
-- returns: movement TEXT, variant TEXT, title TEXT, sets BIGINT, lifters BIGINT
-- params:  $entries STRUCT[] (catalogue)
WITH entry AS (
    SELECT unnest($entries, recursive := true)
    UNION ALL BY NAME
    SELECT variant, movement, title FROM own_variant
),
standing AS (
    SELECT s.set_key, s.name_key, s.lifter
    FROM logged_set AS s
    ANTI JOIN deleted_set AS x ON x.set_key = s.set_key
)
SELECT e.movement, e.variant, e.title, count(s.set_key) AS sets,
    count(DISTINCT s.lifter) AS lifters
FROM entry AS e
LEFT JOIN exercise_name AS n ON n.variant = e.variant
LEFT JOIN standing AS s ON s.name_key = n.name_key
GROUP BY e.movement, e.variant, e.title
ORDER BY e.movement, e.variant
