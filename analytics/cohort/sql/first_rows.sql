-- Rows of several files, each set once: where it was met first.
-- grain:   one row per set
-- returns: the columns of rows, set_key as UHUGEINT
-- params:  none; relation rows
CREATE TEMP TABLE first_row AS
SELECT CAST(key_high AS UHUGEINT) * 18446744073709551616 + key_low AS set_key,
    * EXCLUDE (key_high, key_low)
FROM rows
QUALIFY row_number() OVER (PARTITION BY key_high, key_low ORDER BY intake_id) = 1
