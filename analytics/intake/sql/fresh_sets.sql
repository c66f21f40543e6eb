-- Sets of the file that the store does not hold, deleted ones included in the store.
-- grain:   one row per set
-- returns: row_no BIGINT, slot INTEGER, set_key UHUGEINT
-- params:  none; tables numbered, logged_set
CREATE TEMP TABLE fresh AS
WITH known AS (
    SELECT s.set_key FROM logged_set AS s SEMI JOIN numbered AS n ON n.set_key = s.set_key
)
SELECT n.row_no, n.slot, n.set_key
FROM numbered AS n
ANTI JOIN known AS k ON k.set_key = n.set_key
