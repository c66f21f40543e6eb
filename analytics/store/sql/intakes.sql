-- Files taken in.
-- grain:   one row per intake
-- returns: intake_id INTEGER, file TEXT, kind TEXT, taken_at TIMESTAMP, rows_read BIGINT,
--          rows_added BIGINT, rows_known BIGINT, rows_rejected BIGINT, sets_added BIGINT,
--          already_known BIGINT, undone_at TIMESTAMP, file_hash TEXT
-- params:  none
SELECT intake_id, file, kind, taken_at, rows_read, rows_added, rows_known, rows_rejected,
    sets_added, already_known, undone_at, file_hash
FROM intake
ORDER BY intake_id
