-- What people changed about one set, oldest first.
-- grain:   one row per changed column
-- returns: changed_at TIMESTAMP, action TEXT, "column" TEXT, before TEXT, after TEXT
-- params:  $set_key UHUGEINT
SELECT changed_at, action, column_name AS "column", before, after
FROM set_history
WHERE set_key = $set_key
ORDER BY changed_at, column_name
