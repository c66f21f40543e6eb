-- The column map remembered for a header.
-- grain:   one row, or none
-- returns: column_map TEXT
-- params:  $signature
SELECT column_map
FROM layout
WHERE signature = $signature
