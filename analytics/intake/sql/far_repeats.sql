-- Sets that equal sets of the same day far above them: rows pasted twice look so.
-- grain:   one row
-- returns: sets BIGINT, first_row BIGINT, last_row BIGINT
-- params:  $far (rows); relation repeat
SELECT count(*) AS sets, min(row_no) AS first_row, max(row_no) AS last_row
FROM repeat
WHERE gap > $far
