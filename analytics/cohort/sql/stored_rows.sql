-- Sets of one file with what few of them hold, as rows that can be stored elsewhere.
-- grain:   one row per set
-- returns: the columns of logged_set and set_detail, set_key in two halves
-- params:  none
-- As text, 128 bits take 70 microseconds each.
SELECT CAST(s.set_key >> 64 AS UBIGINT) AS key_high,
    CAST(s.set_key & 18446744073709551615 AS UBIGINT) AS key_low,
    s.* EXCLUDE (set_key, intake_id),
    d.* EXCLUDE (set_key)
FROM logged_set AS s
LEFT JOIN set_detail AS d ON d.set_key = s.set_key
ORDER BY d.source_sheet NULLS FIRST, s.source_row, s.set_key
