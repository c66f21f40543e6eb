-- Rows of the file with at least one new set.
-- grain:   one row
-- returns: rows BIGINT, sets BIGINT
-- params:  none; view numbered, table known
SELECT count(DISTINCT n.row_no) AS rows, count(*) AS sets
FROM numbered AS n
ANTI JOIN known AS k ON k.set_key = n.set_key
