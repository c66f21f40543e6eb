-- Checked sets with their identity but its occurrence number.
-- grain:   one row per set in the file
-- returns: row_no BIGINT, slot INTEGER, the columns that the file fills, fault TEXT,
--          content UHUGEINT
-- params:  variable filled TEXT[]; view checked
-- What few logs hold is tagged and left out where it was not logged, so that a later
-- version may add a column without changing the identity of sets that lack it. The note
-- and the body mass are no part of what was done. Columns that the file does not fill
-- are not kept, because a table in memory would spend as much on them as on the others.
CREATE TEMP TABLE typed AS
SELECT COLUMNS(lambda name: list_contains(getvariable('filled'), name)),
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
                    angle_deg, pain, lean_deg, CAST(heave AS INTEGER)
                ) IS NOT NULL
            THEN concat_ws(
                chr(31), '', 's' || nullif(side, ''), 'c' || nullif(load_counts, ''),
                'g' || nullif(stance, ''), 't' || nullif(tempo, ''),
                CASE WHEN on_body THEN 'b' END, CASE WHEN failed THEN 'f' END,
                'h' || heave,
                'fa' || TRY_CAST(round(failed_at_deg * 100) AS BIGINT),
                'rf' || TRY_CAST(round(range_from_deg * 100) AS BIGINT),
                'rt' || TRY_CAST(round(range_to_deg * 100) AS BIGINT),
                'ro' || TRY_CAST(round(rotation_deg * 100) AS BIGINT),
                'ho' || TRY_CAST(round(hold_s * 100) AS BIGINT),
                'an' || TRY_CAST(round(angle_deg * 100) AS BIGINT),
                'pa' || TRY_CAST(round(pain * 100) AS BIGINT),
                'le' || TRY_CAST(round(lean_deg * 100) AS BIGINT)
            )
        END
    )) END AS content
FROM checked
