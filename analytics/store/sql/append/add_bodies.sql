-- Store the new measurements, in the order of the file.
-- grain:   one row per measurement
-- params:  $intake_id INTEGER; view numbered, tables known, sheet
INSERT INTO body BY NAME
SELECT n.* EXCLUDE (row_no, slot, fault, content, set_key), n.set_key AS body_key,
    $intake_id AS intake_id, s.name AS source_sheet, n.row_no % 4294967296 AS source_row
FROM numbered AS n
JOIN sheet AS s ON s.sheet_no = n.row_no // 4294967296
ANTI JOIN known AS k ON k.set_key = n.set_key
