-- Store the new measurements.
-- grain:   one row per measurement
-- params:  $intake_id INTEGER; view typed, tables fresh, sheet
INSERT INTO body
SELECT f.set_key, $intake_id AS intake_id, s.name AS source_sheet,
    t.row_no % 4294967296 AS source_row, t.lifter, t.measured_on, t.body_mass_kg,
    t.stature_m, t.forearm_length_m, t.arm_girth_m
FROM typed AS t
JOIN fresh AS f ON f.row_no = t.row_no
JOIN sheet AS s ON s.sheet_no = t.row_no // 4294967296
ORDER BY t.row_no
