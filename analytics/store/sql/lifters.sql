-- Lifters and what their log holds.
-- grain:   one row per lifter
-- returns: lifter TEXT, sets BIGINT, first_on TIMESTAMP, last_on TIMESTAMP,
--          variants BIGINT, with_effort BIGINT
-- params:  none
SELECT s.lifter, count(*) AS sets,
    CAST(min(s.performed_on) AS TIMESTAMP) AS first_on,
    CAST(max(s.performed_on) AS TIMESTAMP) AS last_on,
    count(DISTINCT n.variant) AS variants,
    count(*) FILTER (WHERE s.failed OR s.rir IS NOT NULL) AS with_effort
FROM logged_set AS s
JOIN exercise_name AS n ON n.name_key = s.name_key
ANTI JOIN deleted_set AS x ON x.set_key = s.set_key
WHERE n.variant IS NOT NULL
GROUP BY s.lifter
ORDER BY s.lifter
