-- Measurements with nothing wrong; equal ones of the file count once.
-- grain:   one row per measurement
-- returns: the columns of typed, set_key UHUGEINT
-- params:  none; table typed
CREATE TEMP VIEW numbered AS
SELECT t.*, t.content AS set_key
FROM typed AS t
WHERE t.fault IS NULL
QUALIFY row_number() OVER (PARTITION BY t.content ORDER BY t.row_no) = 1
