-- Store the new sets, in the order of the file.
-- grain:   one row per set
-- params:  $intake_id INTEGER; view typed, tables fresh, sheet
INSERT INTO logged_set
SELECT f.set_key, $intake_id AS intake_id, s.name AS source_sheet,
    t.row_no % 4294967296 AS source_row, t.lifter, t.performed_on, t.name_key,
    t.equipment, t.side, t.load_kg, t.on_body, t.load_counts, t.reps, t.rir, t.failed,
    t.failed_at_deg, t.range_from_deg, t.range_to_deg, t.stance, t.rotation_deg, t.hold_s,
    t.angle_deg, t.tempo, t.pain, t.body_mass_kg, t.lean_deg, t.heave, t.note,
    false AS deleted
FROM typed AS t
JOIN fresh AS f ON f.row_no = t.row_no AND f.slot = t.slot
JOIN sheet AS s ON s.sheet_no = t.row_no // 4294967296
