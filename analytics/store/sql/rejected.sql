-- Rejected rows that still wait.
-- grain:   one row per row of a file
-- returns: intake_id INTEGER, file TEXT, row BIGINT, "column" TEXT, value TEXT,
--          problem TEXT, accepted TEXT
-- params:  $intake_id INTEGER; NULL means all, a row met in several files only once
SELECT a.intake_id,
    i.file || CASE WHEN a.source_sheet = '' THEN '' ELSE '#' || a.source_sheet END AS file,
    a.source_row AS "row", a.column_name AS "column", a.value, a.problem, a.accepted
FROM rejected_row AS a
JOIN intake AS i ON i.intake_id = a.intake_id
WHERE a.fixed_by IS NULL AND ($intake_id IS NULL OR a.intake_id = $intake_id)
QUALIFY $intake_id IS NOT NULL
    OR row_number() OVER (PARTITION BY a.row_key ORDER BY a.intake_id DESC) = 1
ORDER BY a.intake_id, a.source_sheet, a.source_row
