-- First sets of the file as they are read.
-- grain:   one row per set
-- returns: the columns of typed but for the digest, "row" BIGINT
-- params:  $most INTEGER; table typed
SELECT t.row_no % 4294967296 AS "row", t.* EXCLUDE (row_no, slot, content)
FROM typed AS t
ORDER BY t.row_no, t.slot
LIMIT $most
