-- Store the rejected rows.
-- grain:   one row per row of the file
-- params:  $intake_id INTEGER; tables still_rejected, sheet
INSERT INTO rejected_row
SELECT $intake_id AS intake_id, s.name, a.row_no % 4294967296, a.row_key, a.column_name,
    a.value, a.problem, a.accepted, a.cells, NULL AS fixed_by
FROM still_rejected AS a
JOIN sheet AS s ON s.sheet_no = a.row_no // 4294967296
ORDER BY a.row_no
