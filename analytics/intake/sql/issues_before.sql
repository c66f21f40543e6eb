-- Why rows of an earlier intake were rejected that still wait.
-- grain:   one row per rejected row
-- returns: source_sheet TEXT, source_row BIGINT, column_name TEXT, value TEXT,
--          problem TEXT, accepted TEXT
-- params:  $id, $most
SELECT source_sheet, source_row, column_name, value, problem, accepted
FROM rejected_row
WHERE intake_id = $id AND fixed_by IS NULL
ORDER BY source_sheet, source_row
LIMIT $most
