-- Text cells of a table of body measurements as typed values, and what is wrong.
-- grain:   one row per row of the file
-- returns: row_no BIGINT, slot INTEGER, lifter TEXT, measured_on DATE, body_mass_kg DOUBLE,
--          stature_m DOUBLE, forearm_length_m DOUBLE, arm_girth_m DOUBLE, fault TEXT
-- params:  variables lifter, mass_unit_kg, low, high; macro plain()
-- A plain number reaches a length through the table of cells too, because metres and
-- centimetres are told apart there.
CREATE TEMP VIEW typed AS
WITH valued AS (
    SELECT e.*, e.row_no AS its_row, e.slot AS its_slot, d.day,
        coalesce(e.lifter, CAST(getvariable('lifter') AS TEXT)) AS its_lifter,
        coalesce(plain(e.body_mass), mass_cell.value)
            * coalesce(mass_cell.unit_kg, CAST(getvariable('mass_unit_kg') AS DOUBLE)) AS body_mass_kg,
        coalesce(metres(plain(e.stature)), stature_cell.value) AS stature_m,
        coalesce(metres(plain(e.forearm_length)), forearm_cell.value) AS forearm_length_m,
        coalesce(metres(plain(e.arm_girth)), girth_cell.value) AS arm_girth_m
    FROM entry AS e
    LEFT JOIN day_cell AS d ON d.text = e.measured_on
    LEFT JOIN cell AS mass_cell
        ON mass_cell.field = 'body_mass' AND mass_cell.text = e.body_mass
    LEFT JOIN cell AS stature_cell
        ON stature_cell.field = 'stature' AND stature_cell.text = e.stature
    LEFT JOIN cell AS forearm_cell
        ON forearm_cell.field = 'forearm_length' AND forearm_cell.text = e.forearm_length
    LEFT JOIN cell AS girth_cell
        ON girth_cell.field = 'arm_girth' AND girth_cell.text = e.arm_girth
)
SELECT its_row AS row_no, its_slot AS slot, its_lifter AS lifter, day AS measured_on,
    body_mass_kg, stature_m, forearm_length_m, arm_girth_m,
    CASE
        WHEN its_lifter IS NULL THEN 'lifter:missing'
        WHEN length(its_lifter) > 100 THEN 'lifter:long'
        WHEN measured_on IS NULL THEN 'measured_on:missing'
        WHEN day IS NULL THEN 'measured_on:unread'
        WHEN body_mass IS NOT NULL AND body_mass_kg IS NULL THEN 'body_mass:unread'
        WHEN stature IS NOT NULL AND stature_m IS NULL THEN 'stature:unread'
        WHEN forearm_length IS NOT NULL AND forearm_length_m IS NULL
            THEN 'forearm_length:unread'
        WHEN arm_girth IS NOT NULL AND arm_girth_m IS NULL THEN 'arm_girth:unread'
        WHEN coalesce(body_mass, stature, forearm_length, arm_girth) IS NULL
            THEN 'body_mass:missing'
        WHEN body_mass_kg NOT BETWEEN getvariable('low').body_mass_kg
            AND getvariable('high').body_mass_kg THEN 'body_mass:range'
        WHEN stature_m NOT BETWEEN getvariable('low').stature_m
            AND getvariable('high').stature_m THEN 'stature:range'
        WHEN forearm_length_m NOT BETWEEN getvariable('low').forearm_length_m
            AND getvariable('high').forearm_length_m THEN 'forearm_length:range'
        WHEN arm_girth_m NOT BETWEEN getvariable('low').arm_girth_m
            AND getvariable('high').arm_girth_m THEN 'arm_girth:range'
    END AS fault
FROM valued
