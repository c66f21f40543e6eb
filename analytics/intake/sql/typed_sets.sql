-- Checked sets with their identity but its occurrence number.
-- grain:   one row per set in the file
-- returns: row_no BIGINT, slot INTEGER, the columns that the file fills, fault TEXT,
--          content UHUGEINT
-- params:  variable filled TEXT[]; view checked
-- Values are tagged, and those not logged left out, so that a later version may add
-- a column without changing the identity of sets that lack it. The note and the body
-- mass are no part of what was done. Columns that the file does not fill are not kept,
-- because a table in memory would spend as much on them as on the others.
CREATE TEMP TABLE typed AS
SELECT COLUMNS(lambda name: list_contains(getvariable('filled'), name)),
    CASE WHEN fault IS NULL THEN md5_number(concat_ws(
        chr(31), lifter, datediff('day', DATE '1970-01-01', performed_on), name_key,
        CAST(round(load_kg * 1000) AS BIGINT),
        'n' || CAST(round(reps * 100) AS BIGINT),
        'r' || CAST(round(rir * 100) AS BIGINT),
        'e' || nullif(equipment, ''), 's' || nullif(side, ''),
        'c' || nullif(load_counts, ''), 'g' || nullif(stance, ''),
        't' || nullif(tempo, ''),
        CASE WHEN on_body THEN 'b' END, CASE WHEN failed THEN 'f' END,
        'h' || heave,
        'fa' || CAST(round(failed_at_deg * 100) AS BIGINT),
        'rf' || CAST(round(range_from_deg * 100) AS BIGINT),
        'rt' || CAST(round(range_to_deg * 100) AS BIGINT),
        'ro' || CAST(round(rotation_deg * 100) AS BIGINT),
        'ho' || CAST(round(hold_s * 100) AS BIGINT),
        'an' || CAST(round(angle_deg * 100) AS BIGINT),
        'pa' || CAST(round(pain * 100) AS BIGINT),
        'le' || CAST(round(lean_deg * 100) AS BIGINT)
    )) END AS content
FROM checked
