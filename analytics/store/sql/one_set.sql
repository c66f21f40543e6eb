-- One set that has not been deleted, as stored.
-- grain:   one row
-- returns: the columns of logged_set and set_detail
-- params:  $set_key UHUGEINT
SELECT s.*, d.* EXCLUDE (set_key)
FROM logged_set AS s
LEFT JOIN set_detail AS d ON d.set_key = s.set_key
ANTI JOIN deleted_set AS x ON x.set_key = s.set_key
WHERE s.set_key = CAST($set_key AS UHUGEINT)
ORDER BY s.set_key
