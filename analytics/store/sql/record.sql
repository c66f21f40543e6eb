-- Who did what.
-- grain:   one row per deed
-- returns: done_at TIMESTAMP, address TEXT, deed TEXT, intake_id INTEGER, about TEXT
-- params:  none
SELECT done_at, address, deed, intake_id, about
FROM deed
ORDER BY done_at, rowid
