-- Values of a log of sets in the units of the store, and the first thing wrong with each.
-- grain:   one row per set in the file
-- returns: row_no BIGINT, slot INTEGER, the columns of logged_set that a file can fill,
--          fault TEXT ('field:kind' of the first check that failed, NULL if none)
-- params:  variables lifter, unit_kg, mass_unit_kg, day_zero, counts, rir, failed, low and high
--          (structs of limits by column); view valued, which has for each field its text
--          and the value that was read, NULL where it could not be read
CREATE TEMP VIEW checked AS
WITH named AS (
    SELECT v.row_no, v.slot, d.day, x.name_key, coalesce(x.on_body, false) AS body_exercise,
        v.* EXCLUDE (row_no, slot)
    FROM valued AS v
    LEFT JOIN day_cell AS d ON d.text = v.performed_on_text
    LEFT JOIN name_cell AS x ON x.text = v.exercise_text
),
converted AS (
    SELECT row_no, slot,
        coalesce(lifter_text, CAST(getvariable('lifter') AS TEXT)) AS lifter,
        coalesce(
            day,
            CASE
                WHEN day_number BETWEEN -100000 AND 100000
                THEN CAST(getvariable('day_zero') AS DATE)
                    + TRY_CAST(floor(day_number) AS INTEGER)
            END
        ) AS performed_on,
        name_key, body_exercise, coalesce(equipment_text, '') AS equipment,
        coalesce(side, '') AS side, on_body,
        round(load * CASE WHEN load = 0 THEN 1 ELSE coalesce(
            load_unit_kg, unit_kg, CAST(getvariable('unit_kg') AS DOUBLE)
        ) END, 6) AS load_kg,
        coalesce(
            nullif(load_counts, ''), CAST(getvariable('counts') AS TEXT)
        ) AS load_counts,
        reps, rir AS rir_logged, rpe, failed AS failed_value,
        -- What the map says of all sets fills in where the row says nothing of effort.
        coalesce(
            rir, 10 - rpe,
            CASE WHEN NOT coalesce(failed = 1, false) THEN CAST(getvariable('rir') AS DOUBLE) END
        ) AS rir,
        coalesce(
            failed = 1, getvariable('failed') AND coalesce(rir, 10 - rpe, 0) < 1
        ) AS failed, failed_at_deg, range_from_deg, range_to_deg,
        lower(coalesce(stance_text, '')) AS stance, rotation AS rotation_deg, hold_s,
        angle_deg, coalesce(tempo_text, '') AS tempo, pain,
        body_mass * coalesce(
            body_mass_unit_kg, CAST(getvariable('mass_unit_kg') AS DOUBLE)
        ) AS body_mass_kg,
        lean AS lean_deg, heave AS heave_value, heave = 1 AS heave,
        coalesce(note_text, '') AS note,
        -- A cell that is there and has no value could not be read.
        CASE
            WHEN surplus IS NOT NULL THEN 'row:surplus'
            WHEN coalesce(lifter_text, CAST(getvariable('lifter') AS TEXT)) IS NULL
                THEN 'lifter:missing'
            WHEN length(lifter_text) > 100 THEN 'lifter:long'
            WHEN lifter_bad THEN 'lifter:unread'
            WHEN performed_on_text IS NULL AND day_text IS NULL THEN 'performed_on:missing'
            WHEN performed_on_text IS NOT NULL AND day IS NULL THEN 'performed_on:unread'
            WHEN day_text IS NOT NULL
                AND NOT coalesce(day_number BETWEEN -100000 AND 100000, false)
                THEN 'day:unread'
            WHEN exercise_text IS NULL THEN 'exercise:missing'
            WHEN coalesce(name_key, '') = '' THEN
                CASE WHEN length(exercise_text) > 200 THEN 'exercise:long' ELSE 'exercise:unread' END
            WHEN unfold_problem IS NOT NULL THEN 'sets:unfold'
            WHEN load_text IS NULL THEN 'load:missing'
            WHEN load IS NULL THEN 'load:unread'
            WHEN load_unit_text IS NOT NULL AND unit_kg IS NULL THEN 'load_unit:unread'
            WHEN reps_text IS NULL AND hold_s_text IS NULL THEN 'reps:missing'
            WHEN reps_text IS NOT NULL AND reps IS NULL THEN 'reps:unread'
            WHEN hold_s_text IS NOT NULL AND hold_s IS NULL THEN 'hold_s:unread'
            WHEN rir_text IS NOT NULL AND rir IS NULL THEN 'rir:unread'
            WHEN rpe_text IS NOT NULL AND rpe IS NULL THEN 'rpe:unread'
            WHEN failed_text IS NOT NULL AND failed IS NULL THEN 'failed:unread'
            WHEN failed_at_deg_text IS NOT NULL AND failed_at_deg IS NULL
                THEN 'failed_at_deg:unread'
            WHEN range_from_deg_text IS NOT NULL AND range_from_deg IS NULL
                THEN 'range_from_deg:unread'
            WHEN range_to_deg_text IS NOT NULL AND range_to_deg IS NULL
                THEN 'range_to_deg:unread'
            WHEN rotation_text IS NOT NULL AND rotation IS NULL THEN 'rotation:unread'
            WHEN angle_deg_text IS NOT NULL AND angle_deg IS NULL THEN 'angle_deg:unread'
            WHEN pain_text IS NOT NULL AND pain IS NULL THEN 'pain:unread'
            WHEN body_mass_text IS NOT NULL AND body_mass IS NULL THEN 'body_mass:unread'
            WHEN lean_text IS NOT NULL AND lean IS NULL THEN 'lean:unread'
            WHEN heave_text IS NOT NULL AND heave IS NULL THEN 'heave:unread'
            WHEN side_text IS NOT NULL AND side IS NULL THEN 'side:unread'
            WHEN length(note_text) > 10000 THEN 'note:long'
            WHEN equipment_bad THEN 'equipment:unread'
            WHEN stance_bad THEN 'stance:unread'
            WHEN tempo_bad THEN 'tempo:unread'
            WHEN length(equipment_text) > 200 THEN 'equipment:long'
            WHEN length(stance_text) > 200 THEN 'stance:long'
            WHEN length(tempo_text) > 200 THEN 'tempo:long'
        END AS unread
    FROM named
)
SELECT row_no, slot, lifter, performed_on, name_key, equipment, side, load_kg, on_body,
    load_counts, reps, rir, failed, failed_at_deg, range_from_deg, range_to_deg, stance,
    rotation_deg, hold_s, angle_deg, tempo, pain, body_mass_kg, lean_deg, heave, note,
    CASE
        WHEN unread IS NOT NULL THEN unread
        WHEN NOT performed_on BETWEEN DATE '1950-01-01' AND current_date + 1
            THEN 'day:range'
        WHEN load_kg < 0 AND NOT on_body AND NOT body_exercise THEN 'load:negative'
        WHEN load_kg NOT BETWEEN getvariable('low').load_kg AND getvariable('high').load_kg
            THEN 'load:range'
        WHEN reps NOT BETWEEN getvariable('low').reps AND getvariable('high').reps
            THEN 'reps:range'
        WHEN hold_s NOT BETWEEN getvariable('low').hold_s AND getvariable('high').hold_s
            THEN 'hold_s:range'
        WHEN rir_logged NOT BETWEEN getvariable('low').rir AND getvariable('high').rir
            THEN 'rir:range'
        WHEN rpe NOT BETWEEN getvariable('low').rpe AND getvariable('high').rpe
            THEN 'rpe:range'
        WHEN failed_value NOT IN (0, 1) THEN 'failed:range'
        WHEN failed_at_deg NOT BETWEEN getvariable('low').failed_at_deg AND getvariable('high').failed_at_deg
            THEN 'failed_at_deg:range'
        WHEN range_from_deg NOT BETWEEN getvariable('low').range_from_deg AND getvariable('high').range_from_deg
            THEN 'range_from_deg:range'
        WHEN range_to_deg NOT BETWEEN getvariable('low').range_to_deg AND getvariable('high').range_to_deg
            THEN 'range_to_deg:range'
        WHEN rotation_deg NOT BETWEEN getvariable('low').rotation_deg AND getvariable('high').rotation_deg
            THEN 'rotation:range'
        WHEN angle_deg NOT BETWEEN getvariable('low').angle_deg AND getvariable('high').angle_deg
            THEN 'angle_deg:range'
        WHEN pain NOT BETWEEN getvariable('low').pain AND getvariable('high').pain
            THEN 'pain:range'
        WHEN body_mass_kg NOT BETWEEN getvariable('low').body_mass_kg AND getvariable('high').body_mass_kg
            THEN 'body_mass:range'
        WHEN lean_deg NOT BETWEEN getvariable('low').lean_deg AND getvariable('high').lean_deg
            THEN 'lean:range'
        WHEN heave_value NOT IN (0, 1) THEN 'heave:range'
        WHEN failed AND rir >= 1 THEN 'failed:contradiction'
        WHEN abs(rir_logged - (10 - rpe)) > 1 THEN 'rpe:contradiction'
        WHEN range_from_deg >= range_to_deg THEN 'range_to_deg:contradiction'
    END AS fault
FROM converted
