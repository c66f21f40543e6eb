-- Rows of the file that hold anything wrong; all their sets are rejected together.
-- grain:   one row per row of the file
-- returns: row_no BIGINT, slot INTEGER, fault TEXT
-- params:  none; table typed
CREATE TEMP TABLE bad_row AS
SELECT row_no, min(slot) AS slot, arg_min(fault, slot) AS fault
FROM typed
WHERE fault IS NOT NULL
GROUP BY row_no
