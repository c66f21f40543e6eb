-- The catalogue and one's own variants, and how many sets each has.
-- grain:   one row per variant
-- returns: movement TEXT, variant TEXT, title TEXT, sets BIGINT, lifters BIGINT
-- params:  $entries STRUCT[] (catalogue)
WITH entry AS (
    SELECT unnest($entries, recursive := true)
    UNION ALL BY NAME
    SELECT variant, movement, title FROM own_variant
)
SELECT e.movement, e.variant, e.title, count(s.set_key) AS sets,
    count(DISTINCT s.lifter) AS lifters
FROM entry AS e
LEFT JOIN exercise_name AS n ON n.variant = e.variant
LEFT JOIN logged_set AS s ON s.name_key = n.name_key AND NOT s.deleted
GROUP BY e.movement, e.variant, e.title
ORDER BY e.movement, e.variant
