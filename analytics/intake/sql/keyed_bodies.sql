-- Identity of every body measurement of the file.
-- grain:   one row per row of the file
-- returns: row_no BIGINT, slot INTEGER, fault TEXT, content UHUGEINT
-- params:  none; view typed
CREATE TEMP TABLE keyed AS
SELECT row_no, slot, fault,
    CASE WHEN fault IS NULL THEN md5_number(concat_ws(
        chr(31), lifter, datediff('day', DATE '1970-01-01', measured_on),
        'm' || CAST(round(body_mass_kg * 1000) AS BIGINT),
        's' || CAST(round(stature_m * 10000) AS BIGINT),
        'f' || CAST(round(forearm_length_m * 10000) AS BIGINT),
        'g' || CAST(round(arm_girth_m * 10000) AS BIGINT)
    )) END AS content
FROM typed
