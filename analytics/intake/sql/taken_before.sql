-- The last intake of the same bytes read the same way, while all of it is stored.
-- grain:   one row, or none
-- returns: intake_id INTEGER, rows_read BIGINT, known BIGINT, rows_rejected BIGINT,
--          fixed BIGINT
-- params:  $file, $reading (digests)
SELECT i.intake_id, i.rows_read, i.sets_added + i.already_known AS known, i.rows_rejected,
    (
        SELECT count(*)
        FROM rejected_row AS a
        WHERE a.intake_id = i.intake_id AND a.fixed_by IS NOT NULL
    ) AS fixed
FROM intake AS i
WHERE i.whole AND i.file_hash = $file AND i.reading_hash = $reading
ORDER BY i.intake_id DESC
LIMIT 1
