-- Sets of the file in the units of the store, what is wrong with each, and its identity
-- but for the occurrence number.
-- grain:   one row per set in the file
-- returns: row_no BIGINT, slot INTEGER, those of the columns that the file fills, fault
--          TEXT ('field:kind' of the first check that failed, NULL if none), content UHUGEINT
-- params:  $filled TEXT[] (columns), $lifter TEXT, $unit_kg DOUBLE, $mass_unit_kg DOUBLE,
--          $day_zero DATE, $counts TEXT, $rir DOUBLE, $failed BOOLEAN, $low and $high
--          STRUCT (limits by column); view valued, which has for each field its text and
--          the value that was read, NULL where it could not be read; day_cell, name_cell
-- What few logs hold is tagged and left out where it was not logged, so that a later
-- version may add a column without changing the identity of sets that lack it. The note
-- and the body mass are no part of what was done. Columns that the file does not fill
-- are not kept, because a table in memory would spend as much on them as on the others.
CREATE TEMP TABLE typed AS
WITH named AS (
    SELECT v.row_no, v.slot, d.day, x.name_key, coalesce(x.on_body, false) AS body_exercise,
        -- An effort that cannot be true is none; effort_unread tells of it.
        v.* EXCLUDE (row_no, slot) REPLACE (
            CASE WHEN v.rir BETWEEN $low.rir AND $high.rir THEN v.rir END AS rir,
            CASE WHEN v.rpe BETWEEN $low.rpe AND $high.rpe THEN v.rpe END AS rpe,
            CASE WHEN v.failed IN (0, 1) THEN v.failed END AS failed
        )
    FROM valued AS v
    LEFT JOIN day_cell AS d ON d.text = v.performed_on_text
    LEFT JOIN name_cell AS x ON x.text = v.exercise_text
),
converted AS (
    SELECT row_no, slot,
        coalesce(lifter_text, CAST($lifter AS TEXT)) AS lifter,
        coalesce(
            day,
            CASE
                WHEN day_number BETWEEN -100000 AND 100000
                THEN CAST($day_zero AS DATE)
                    + TRY_CAST(floor(day_number) AS INTEGER)
            END
        ) AS performed_on,
        name_key, body_exercise, coalesce(equipment_text, '') AS equipment,
        coalesce(side, '') AS side, on_body,
        round(load * CASE WHEN load = 0 THEN 1 ELSE coalesce(
            load_unit_kg, unit_kg, CAST($unit_kg AS DOUBLE)
        ) END, 6) AS load_kg,
        coalesce(
            nullif(load_counts, ''), CAST($counts AS TEXT)
        ) AS load_counts,
        -- A hold counts seconds; 0 repetitions beside them are none.
        CASE WHEN reps <> 0 OR hold_s IS NULL THEN reps END AS reps, rir AS rir_logged, rpe, failed AS failed_value,
        -- A word for failure in a column of reserve or exertion.
        coalesce(rir_word = 'failed', false) OR coalesce(rpe_word = 'failed', false)
            AS to_failure,
        -- What the map says of all sets fills in where the row says nothing of effort.
        (rir_text IS NOT NULL AND rir IS NULL) OR (rpe_text IS NOT NULL AND rpe IS NULL)
            OR (failed_text IS NOT NULL AND failed IS NULL) AS effort_open,
        coalesce(
            rir, 10 - rpe,
            CASE
                WHEN NOT coalesce(failed = 1, false) AND NOT effort_open
                THEN CAST($rir AS DOUBLE)
            END
        ) AS rir,
        CASE WHEN rir IS NULL THEN rpe_half ELSE rir_half END AS rir_half,
        to_failure OR coalesce(
            failed = 1, $failed AND NOT effort_open AND coalesce(rir, 10 - rpe, 0) < 1
        ) AS failed, failed_at_deg, range_from_deg, range_to_deg,
        lower(coalesce(stance_text, '')) AS stance, rotation AS rotation_deg, hold_s,
        angle_deg, coalesce(tempo_text, '') AS tempo, pain,
        body_mass * coalesce(
            body_mass_unit_kg, CAST($mass_unit_kg AS DOUBLE)
        ) AS body_mass_kg,
        lean AS lean_deg, cheat AS cheat_value, cheat = 1 AS cheat,
        coalesce(note_text, '') AS note,
        -- A cell that is there and has no value could not be read.
        CASE
            WHEN surplus IS NOT NULL THEN 'row:surplus'
            WHEN coalesce(lifter_text, CAST($lifter AS TEXT)) IS NULL
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
            WHEN cheat_text IS NOT NULL AND cheat IS NULL THEN 'cheat:unread'
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
),
checked AS (
    SELECT row_no, slot, lifter, performed_on, name_key, equipment, side, load_kg, on_body,
        load_counts, reps, rir, rir_half, failed, failed_at_deg, range_from_deg,
        range_to_deg, stance, rotation_deg, hold_s, angle_deg, tempo, pain, body_mass_kg, lean_deg, cheat, note,
        CASE
            WHEN unread IS NOT NULL THEN unread
            WHEN NOT performed_on BETWEEN DATE '1950-01-01' AND current_date + 1
                THEN 'day:range'
            WHEN load_kg < 0 AND NOT on_body AND NOT body_exercise THEN 'load:negative'
            WHEN load_kg NOT BETWEEN $low.load_kg AND $high.load_kg
                THEN 'load:range'
            WHEN reps NOT BETWEEN $low.reps AND $high.reps
                THEN 'reps:range'
            WHEN hold_s NOT BETWEEN $low.hold_s AND $high.hold_s
                THEN 'hold_s:range'
            WHEN failed_at_deg NOT BETWEEN $low.failed_at_deg AND $high.failed_at_deg
                THEN 'failed_at_deg:range'
            WHEN range_from_deg NOT BETWEEN $low.range_from_deg AND $high.range_from_deg
                THEN 'range_from_deg:range'
            WHEN range_to_deg NOT BETWEEN $low.range_to_deg AND $high.range_to_deg
                THEN 'range_to_deg:range'
            WHEN rotation_deg NOT BETWEEN $low.rotation_deg AND $high.rotation_deg
                THEN 'rotation:range'
            WHEN angle_deg NOT BETWEEN $low.angle_deg AND $high.angle_deg
                THEN 'angle_deg:range'
            WHEN pain NOT BETWEEN $low.pain AND $high.pain
                THEN 'pain:range'
            WHEN body_mass_kg NOT BETWEEN $low.body_mass_kg AND $high.body_mass_kg
                THEN 'body_mass:range'
            WHEN lean_deg NOT BETWEEN $low.lean_deg AND $high.lean_deg
                THEN 'lean:range'
            WHEN cheat_value NOT IN (0, 1) THEN 'cheat:range'
            WHEN failed AND rir >= 1 OR to_failure AND failed_value = 0 THEN 'failed:contradiction'
            WHEN abs(rir_logged - (10 - rpe)) > 1 THEN 'rpe:contradiction'
            WHEN range_from_deg >= range_to_deg THEN 'range_to_deg:contradiction'
        END AS fault
    FROM converted
)
SELECT COLUMNS(lambda name: list_contains($filled, name)),
    CASE WHEN fault IS NULL THEN md5_number(concat(
        lifter, chr(31), name_key, chr(31), equipment, chr(31),
        -- day and load in one number, since numbers are slow to write
        datediff('day', DATE '1970-01-01', performed_on) * 10000000
            + TRY_CAST(round(load_kg * 1000) AS BIGINT), chr(31),
        TRY_CAST(round(reps * 100) AS INTEGER), chr(31), TRY_CAST(round(rir * 100) AS INTEGER),
        CASE
            WHEN failed OR on_body OR side <> '' OR load_counts <> '' OR stance <> ''
                OR tempo <> '' OR coalesce(
                    failed_at_deg, range_from_deg, range_to_deg, rotation_deg, hold_s,
                    angle_deg, pain, lean_deg, CAST(cheat AS INTEGER), rir_half
                ) IS NOT NULL
            THEN concat_ws(
                chr(31), '', 's' || nullif(side, ''), 'c' || nullif(load_counts, ''),
                'g' || nullif(stance, ''), 't' || nullif(tempo, ''),
                CASE WHEN on_body THEN 'b' END, CASE WHEN failed THEN 'f' END,
                'h' || cheat,
                'fa' || TRY_CAST(round(failed_at_deg * 100) AS BIGINT),
                'rf' || TRY_CAST(round(range_from_deg * 100) AS BIGINT),
                'rt' || TRY_CAST(round(range_to_deg * 100) AS BIGINT),
                'ro' || TRY_CAST(round(rotation_deg * 100) AS BIGINT),
                'ho' || TRY_CAST(round(hold_s * 100) AS BIGINT),
                'an' || TRY_CAST(round(angle_deg * 100) AS BIGINT),
                'pa' || TRY_CAST(round(pain * 100) AS BIGINT),
                'le' || TRY_CAST(round(lean_deg * 100) AS BIGINT),
                'rh' || TRY_CAST(round(rir_half * 100) AS BIGINT)
            )
        END
    )) END AS content
FROM checked
