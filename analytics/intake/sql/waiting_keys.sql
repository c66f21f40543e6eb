-- Keys of the rejected rows of one intake that still wait.
-- grain:   one row per rejected row
-- returns: row_key UHUGEINT
-- params:  $id
SELECT row_key
FROM rejected_row
WHERE intake_id = $id AND fixed_by IS NULL
ORDER BY row_key
