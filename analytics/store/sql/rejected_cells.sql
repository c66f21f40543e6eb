-- Cells of rejected rows that wait, to be fixed and brought back.
-- grain:   one row per row of a file
-- returns: row_key UHUGEINT, cells TEXT (JSON list), problem TEXT, accepted TEXT
-- params:  $intake_id INTEGER
SELECT row_key, cells, problem, accepted
FROM rejected_row
WHERE fixed_by IS NULL AND intake_id = $intake_id
ORDER BY source_sheet, source_row
