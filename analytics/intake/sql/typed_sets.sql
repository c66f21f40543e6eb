-- Text cells of a log of sets as typed values, and the first thing wrong with each.
-- grain:   one row per set in the file
-- returns: row_no BIGINT, slot INTEGER, the columns of logged_set that a file can fill,
--          fault TEXT ('field:kind' of the first check that failed, NULL if none)
-- params:  variables lifter, unit_kg, mass_unit_kg, day_zero, counts, low and high
--          (structs of limits by column); macro plain()
CREATE TEMP VIEW typed AS
WITH valued AS (
    SELECT e.row_no, e.slot,
        coalesce(e.lifter, CAST(getvariable('lifter') AS TEXT)) AS lifter,
        coalesce(
            d.day, CAST(getvariable('day_zero') AS DATE) + CAST(floor(plain(e.day)) AS INTEGER)
        ) AS performed_on,
        x.name_key, coalesce(x.on_body, false) AS body_exercise,
        coalesce(e.equipment, '') AS equipment,
        coalesce(side_cell.word, '') AS side,
        coalesce(plain(e.load), load_cell.value) AS load,
        coalesce(load_cell.unit_kg, unit_cell.unit_kg, CAST(getvariable('unit_kg') AS DOUBLE)) AS unit_kg,
        coalesce(load_cell.on_body, false) AS on_body,
        coalesce(nullif(load_cell.word, ''), CAST(getvariable('counts') AS TEXT)) AS load_counts,
        coalesce(plain(e.reps), reps_cell.value) AS reps,
        coalesce(plain(e.rir), rir_cell.value) AS rir_logged,
        coalesce(plain(e.rpe), rpe_cell.value) AS rpe,
        coalesce(plain(e.failed), failed_cell.value) AS failed,
        coalesce(plain(e.failed_at_deg), failed_at_cell.value) AS failed_at_deg,
        coalesce(plain(e.range_from_deg), from_cell.value) AS range_from_deg,
        coalesce(plain(e.range_to_deg), to_cell.value) AS range_to_deg,
        lower(coalesce(e.stance, '')) AS stance,
        coalesce(plain(e.rotation), rotation_cell.value) AS rotation_deg,
        coalesce(plain(e.hold_s), hold_cell.value) AS hold_s,
        coalesce(plain(e.angle_deg), angle_cell.value) AS angle_deg,
        coalesce(e.tempo, '') AS tempo,
        coalesce(plain(e.pain), pain_cell.value) AS pain,
        coalesce(plain(e.body_mass), mass_cell.value)
            * coalesce(mass_cell.unit_kg, CAST(getvariable('mass_unit_kg') AS DOUBLE)) AS body_mass_kg,
        coalesce(plain(e.lean), lean_cell.value) AS lean_deg,
        coalesce(plain(e.heave), heave_cell.value) AS heave,
        coalesce(e.note, '') AS note,
        -- A cell that is there and has no value could not be read.
        CASE
            WHEN coalesce(e.lifter, CAST(getvariable('lifter') AS TEXT)) IS NULL THEN 'lifter:missing'
            WHEN length(e.lifter) > 100 THEN 'lifter:long'
            WHEN e.performed_on IS NULL AND e.day IS NULL THEN 'performed_on:missing'
            WHEN e.performed_on IS NOT NULL AND d.day IS NULL THEN 'performed_on:unread'
            WHEN e.day IS NOT NULL
                AND NOT coalesce(plain(e.day) BETWEEN -100000 AND 100000, false)
                THEN 'day:unread'
            WHEN e.exercise IS NULL THEN 'exercise:missing'
            WHEN coalesce(x.name_key, '') = '' THEN 'exercise:unread'
            WHEN e.sets IS NOT NULL THEN 'sets:unfold'
            WHEN e.load IS NULL THEN 'load:missing'
            WHEN plain(e.load) IS NULL AND load_cell.value IS NULL THEN 'load:unread'
            WHEN e.load_unit IS NOT NULL AND unit_cell.unit_kg IS NULL
                THEN 'load_unit:unread'
            WHEN e.reps IS NULL AND e.hold_s IS NULL THEN 'reps:missing'
            WHEN e.reps IS NOT NULL AND plain(e.reps) IS NULL AND reps_cell.value IS NULL
                THEN 'reps:unread'
            WHEN e.hold_s IS NOT NULL AND plain(e.hold_s) IS NULL
                AND hold_cell.value IS NULL THEN 'hold_s:unread'
            WHEN e.rir IS NOT NULL AND plain(e.rir) IS NULL AND rir_cell.value IS NULL
                THEN 'rir:unread'
            WHEN e.rpe IS NOT NULL AND plain(e.rpe) IS NULL AND rpe_cell.value IS NULL
                THEN 'rpe:unread'
            WHEN e.failed IS NOT NULL AND plain(e.failed) IS NULL
                AND failed_cell.value IS NULL THEN 'failed:unread'
            WHEN e.failed_at_deg IS NOT NULL AND plain(e.failed_at_deg) IS NULL
                AND failed_at_cell.value IS NULL THEN 'failed_at_deg:unread'
            WHEN e.range_from_deg IS NOT NULL AND plain(e.range_from_deg) IS NULL
                AND from_cell.value IS NULL THEN 'range_from_deg:unread'
            WHEN e.range_to_deg IS NOT NULL AND plain(e.range_to_deg) IS NULL
                AND to_cell.value IS NULL THEN 'range_to_deg:unread'
            WHEN e.rotation IS NOT NULL AND plain(e.rotation) IS NULL
                AND rotation_cell.value IS NULL THEN 'rotation:unread'
            WHEN e.angle_deg IS NOT NULL AND plain(e.angle_deg) IS NULL
                AND angle_cell.value IS NULL THEN 'angle_deg:unread'
            WHEN e.pain IS NOT NULL AND plain(e.pain) IS NULL
                AND pain_cell.value IS NULL THEN 'pain:unread'
            WHEN e.body_mass IS NOT NULL AND plain(e.body_mass) IS NULL
                AND mass_cell.value IS NULL THEN 'body_mass:unread'
            WHEN e.lean IS NOT NULL AND plain(e.lean) IS NULL
                AND lean_cell.value IS NULL THEN 'lean:unread'
            WHEN e.heave IS NOT NULL AND plain(e.heave) IS NULL
                AND heave_cell.value IS NULL THEN 'heave:unread'
            WHEN e.side IS NOT NULL AND side_cell.word IS NULL THEN 'side:unread'
            WHEN length(e.note) > 10000 THEN 'note:long'
            WHEN length(e.equipment) > 200 THEN 'equipment:long'
            WHEN length(e.stance) > 200 THEN 'stance:long'
            WHEN length(e.tempo) > 200 THEN 'tempo:long'
        END AS unread
    FROM entry AS e
    LEFT JOIN day_cell AS d ON d.text = e.performed_on
    LEFT JOIN name_cell AS x ON x.text = e.exercise
    LEFT JOIN cell AS load_cell ON load_cell.field = 'load' AND load_cell.text = e.load
    LEFT JOIN cell AS unit_cell
        ON unit_cell.field = 'load_unit' AND unit_cell.text = e.load_unit
    LEFT JOIN cell AS reps_cell ON reps_cell.field = 'reps' AND reps_cell.text = e.reps
    LEFT JOIN cell AS rir_cell ON rir_cell.field = 'rir' AND rir_cell.text = e.rir
    LEFT JOIN cell AS rpe_cell ON rpe_cell.field = 'rpe' AND rpe_cell.text = e.rpe
    LEFT JOIN cell AS failed_cell
        ON failed_cell.field = 'failed' AND failed_cell.text = e.failed
    LEFT JOIN cell AS failed_at_cell
        ON failed_at_cell.field = 'failed_at_deg' AND failed_at_cell.text = e.failed_at_deg
    LEFT JOIN cell AS from_cell
        ON from_cell.field = 'range_from_deg' AND from_cell.text = e.range_from_deg
    LEFT JOIN cell AS to_cell
        ON to_cell.field = 'range_to_deg' AND to_cell.text = e.range_to_deg
    LEFT JOIN cell AS rotation_cell
        ON rotation_cell.field = 'rotation' AND rotation_cell.text = e.rotation
    LEFT JOIN cell AS hold_cell ON hold_cell.field = 'hold_s' AND hold_cell.text = e.hold_s
    LEFT JOIN cell AS angle_cell
        ON angle_cell.field = 'angle_deg' AND angle_cell.text = e.angle_deg
    LEFT JOIN cell AS pain_cell ON pain_cell.field = 'pain' AND pain_cell.text = e.pain
    LEFT JOIN cell AS mass_cell
        ON mass_cell.field = 'body_mass' AND mass_cell.text = e.body_mass
    LEFT JOIN cell AS lean_cell ON lean_cell.field = 'lean' AND lean_cell.text = e.lean
    LEFT JOIN cell AS heave_cell
        ON heave_cell.field = 'heave' AND heave_cell.text = e.heave
    LEFT JOIN cell AS side_cell ON side_cell.field = 'side' AND side_cell.text = e.side
),
converted AS (
    SELECT * REPLACE (coalesce(failed = 1, false) AS failed, heave = 1 AS heave),
        round(load * CASE WHEN load = 0 THEN 1 ELSE unit_kg END, 6) AS load_kg,
        coalesce(rir_logged, 10 - rpe) AS rir,
        failed AS failed_value, heave AS heave_value
    FROM valued
)
SELECT *,
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
