-- Body measurements in the units of the store, what is wrong with each, and its identity.
-- grain:   one row per row of the file
-- returns: row_no BIGINT, slot INTEGER, lifter TEXT, measured_on DATE, body_mass_kg DOUBLE,
--          stature_m DOUBLE, forearm_length_m DOUBLE, arm_girth_m DOUBLE, fault TEXT,
--          content UHUGEINT
-- params:  $lifter TEXT, $mass_unit_kg DOUBLE, $low and $high STRUCT (limits by column);
--          view valued, table day_cell; macro metres()
-- A length that was not plain has been read in metres; of a plain one, below 3 is metres.
CREATE TEMP TABLE typed AS
WITH converted AS (
    SELECT v.row_no, v.slot,
        coalesce(v.lifter_text, CAST($lifter AS TEXT)) AS lifter,
        d.day AS measured_on,
        v.body_mass * coalesce(
            v.body_mass_unit_kg, CAST($mass_unit_kg AS DOUBLE)
        ) AS body_mass_kg,
        metres(v.stature) AS stature_m, metres(v.forearm_length) AS forearm_length_m,
        metres(v.arm_girth) AS arm_girth_m,
        CASE
            WHEN v.surplus IS NOT NULL THEN 'row:surplus'
            WHEN v.lifter_bad THEN 'lifter:unread'
            WHEN v.measured_on_text IS NULL THEN 'measured_on:missing'
            WHEN d.day IS NULL THEN 'measured_on:unread'
            WHEN v.body_mass_text IS NOT NULL AND v.body_mass IS NULL
                THEN 'body_mass:unread'
            WHEN v.stature_text IS NOT NULL AND v.stature IS NULL THEN 'stature:unread'
            WHEN v.forearm_length_text IS NOT NULL AND v.forearm_length IS NULL
                THEN 'forearm_length:unread'
            WHEN v.arm_girth_text IS NOT NULL AND v.arm_girth IS NULL
                THEN 'arm_girth:unread'
            WHEN coalesce(v.body_mass, v.stature, v.forearm_length, v.arm_girth) IS NULL
                THEN 'body_mass:missing'
        END AS unread
    FROM valued AS v
    LEFT JOIN day_cell AS d ON d.text = v.measured_on_text
),
checked AS (
    SELECT row_no, slot, lifter, measured_on, body_mass_kg, stature_m, forearm_length_m,
        arm_girth_m,
        CASE
            WHEN lifter IS NULL THEN 'lifter:missing'
            WHEN length(lifter) > 100 THEN 'lifter:long'
            WHEN unread IS NOT NULL THEN unread
            WHEN body_mass_kg NOT BETWEEN $low.body_mass_kg
                AND $high.body_mass_kg THEN 'body_mass:range'
            WHEN stature_m NOT BETWEEN $low.stature_m
                AND $high.stature_m THEN 'stature:range'
            WHEN forearm_length_m NOT BETWEEN $low.forearm_length_m
                AND $high.forearm_length_m THEN 'forearm_length:range'
            WHEN arm_girth_m NOT BETWEEN $low.arm_girth_m
                AND $high.arm_girth_m THEN 'arm_girth:range'
        END AS fault
    FROM converted
)
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
