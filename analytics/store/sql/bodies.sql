-- Body measurements.
-- grain:   one row per lifter and measurement
-- returns: lifter TEXT, measured_on TIMESTAMP, body_mass_kg DOUBLE, stature_m DOUBLE,
--          forearm_length_m DOUBLE, arm_girth_m DOUBLE, intake_id INTEGER
-- params:  $lifter TEXT; NULL means all
SELECT lifter, CAST(measured_on AS TIMESTAMP) AS measured_on, body_mass_kg, stature_m,
    forearm_length_m, arm_girth_m, intake_id
FROM body
WHERE $lifter IS NULL OR lifter = $lifter
ORDER BY lifter, measured_on, intake_id, source_row
