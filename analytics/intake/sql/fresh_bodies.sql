-- Measurements of the file that the store does not hold; equal ones count once.
-- grain:   one row per measurement
-- returns: row_no BIGINT, slot INTEGER, set_key UHUGEINT
-- params:  none; tables keyed, body
CREATE TEMP TABLE fresh AS
SELECT min(row_no) AS row_no, 0 AS slot, content AS set_key
FROM keyed
WHERE fault IS NULL AND content NOT IN (SELECT body_key FROM body)
GROUP BY content
