-- Checked body measurements with their identity.
-- grain:   one row per row of the file
-- returns: the columns of checked, content UHUGEINT
-- params:  none; view checked
CREATE TEMP TABLE typed AS
SELECT row_no, slot, lifter, measured_on, body_mass_kg, stature_m, forearm_length_m,
    arm_girth_m, fault,
    CASE WHEN fault IS NULL THEN md5_number(concat_ws(
        chr(31), lifter, datediff('day', DATE '1970-01-01', measured_on),
        'm' || TRY_CAST(round(body_mass_kg * 1000) AS BIGINT),
        's' || TRY_CAST(round(stature_m * 10000) AS BIGINT),
        'f' || TRY_CAST(round(forearm_length_m * 10000) AS BIGINT),
        'g' || TRY_CAST(round(arm_girth_m * 10000) AS BIGINT)
    )) END AS content
FROM checked
