-- Every set as logged, those whose exercise name still waits included.
-- grain:   one row per set
-- returns: set_id TEXT, lifter TEXT, performed_on TIMESTAMP, exercise TEXT, equipment TEXT,
--          load DOUBLE, on_body BOOLEAN, load_unit TEXT, reps DOUBLE, rir DOUBLE,
--          rir_half DOUBLE, failed BOOLEAN, failed_at_deg DOUBLE, range_from_deg DOUBLE,
--          range_to_deg DOUBLE, stance TEXT, rotation DOUBLE, side TEXT, hold_s DOUBLE,
--          angle_deg DOUBLE, tempo TEXT, pain DOUBLE, body_mass DOUBLE, lean DOUBLE,
--          cheat BOOLEAN, note TEXT, load_counts TEXT
-- params:  $lifter TEXT, $variant TEXT, $since DATE, $until DATE; NULL means all
SELECT lower(hex(s.set_key)) AS set_id, s.lifter,
    CAST(s.performed_on AS TIMESTAMP) AS performed_on, n.text AS exercise,
    nullif(s.equipment, '') AS equipment, s.load_kg AS load,
    coalesce(d.on_body, false) OR s.load_kg < 0 AS on_body, 'kg' AS load_unit, s.reps,
    s.rir, d.rir_half, s.failed, d.failed_at_deg, d.range_from_deg, d.range_to_deg,
    nullif(d.stance, '') AS stance, d.rotation_deg AS rotation,
    nullif(d.side, '') AS side, d.hold_s, d.angle_deg, nullif(d.tempo, '') AS tempo,
    d.pain, d.body_mass_kg AS body_mass, d.lean_deg AS lean, d.cheat,
    nullif(d.note, '') AS note, nullif(d.load_counts, '') AS load_counts
FROM logged_set AS s
JOIN exercise_name AS n ON n.name_key = s.name_key
LEFT JOIN set_detail AS d ON d.set_key = s.set_key
ANTI JOIN deleted_set AS x ON x.set_key = s.set_key
WHERE ($lifter IS NULL OR s.lifter = $lifter)
    AND ($variant IS NULL OR n.variant = $variant)
    AND ($since IS NULL OR s.performed_on >= $since)
    AND ($until IS NULL OR s.performed_on <= $until)
ORDER BY s.performed_on, s.lifter, s.intake_id, d.source_sheet, s.source_row, s.set_key
