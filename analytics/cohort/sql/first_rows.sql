-- Rows of several files, each set once: where it was met first.
-- grain:   one row per set
-- returns: the columns of rows, set_key as UHUGEINT
-- params:  none; relation rows
CREATE TEMP TABLE first_row AS
SELECT * REPLACE (CAST(set_key AS UHUGEINT) AS set_key)
FROM rows
QUALIFY row_number() OVER (PARTITION BY set_key ORDER BY intake_id) = 1
