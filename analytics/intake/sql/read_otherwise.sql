-- The first intake that still stores all of the same bytes, read in another way.
-- grain:   one row
-- returns: intake_id INTEGER, NULL without one
-- params:  $file, $reading (digests)
SELECT min(intake_id) AS intake_id
FROM intake
WHERE whole AND file_hash = $file AND reading_hash <> $reading
