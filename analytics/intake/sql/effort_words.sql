-- Texts whose effort was not read, the most frequent first.
-- grain:   one row per text
-- returns: text TEXT, sets BIGINT
-- params:  none; table effort_unread
SELECT text, count(*) AS sets
FROM effort_unread
GROUP BY text
ORDER BY sets DESC, text
