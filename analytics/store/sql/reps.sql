-- Traced repetitions.
-- grain:   one row per repetition
-- returns: lifter TEXT, performed_on TIMESTAMP, exercise TEXT, variant TEXT, "set" TEXT,
--          rep INTEGER, start_s DOUBLE, end_s DOUBLE, peak1_s DOUBLE, low_s DOUBLE,
--          peak2_s DOUBLE, sticking_deg DOUBLE, sticking_from_deg DOUBLE,
--          sticking_to_deg DOUBLE
-- params:  $lifter TEXT, $variant TEXT; NULL means all
SELECT r.lifter, CAST(r.performed_on AS TIMESTAMP) AS performed_on, r.exercise, n.variant,
    r.set_label AS "set", r.rep, r.start_s, r.end_s, r.peak1_s, r.low_s, r.peak2_s,
    r.sticking_deg, r.sticking_from_deg, r.sticking_to_deg
FROM traced_rep AS r
LEFT JOIN exercise_name AS n ON n.name_key = r.name_key
WHERE ($lifter IS NULL OR r.lifter = $lifter)
    AND ($variant IS NULL OR n.variant = $variant)
ORDER BY r.lifter, r.performed_on, r.exercise, r.set_label, r.rep
