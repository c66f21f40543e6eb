-- First measurements of the file as they are read.
-- grain:   one row per row of the file
-- returns: row BIGINT, lifter TEXT, measured_on DATE, body_mass_kg DOUBLE, ...
-- params:  $most INTEGER; view typed
SELECT t.row_no % 4294967296 AS "row", t.lifter, t.measured_on, t.body_mass_kg,
    t.stature_m, t.forearm_length_m, t.arm_girth_m, coalesce(t.fault, '') AS fault
FROM typed AS t
ORDER BY t.row_no
LIMIT $most
