-- Cells of rows set aside, to be repaired and brought back.
-- grain:   one row per row of a file
-- returns: intake_id INTEGER, sheet TEXT, "row" BIGINT, cells TEXT (JSON), problem TEXT,
--          accepted TEXT
-- params:  $intake_id INTEGER
SELECT intake_id, source_sheet AS sheet, source_row AS "row", cells, problem, accepted
FROM aside_row
WHERE NOT mended AND intake_id = $intake_id
ORDER BY source_sheet, source_row
