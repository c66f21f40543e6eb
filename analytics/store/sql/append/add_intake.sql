-- Store where the sets came from and the counts.
-- grain:   one row
-- params:  $intake_id INTEGER, $file TEXT, $file_hash TEXT, $reading_hash TEXT, $kind TEXT,
--          $now TIMESTAMP, $column_map TEXT, $headers TEXT, $rows_read BIGINT,
--          $rows_added BIGINT, $rows_known BIGINT, $rejected BIGINT, $sets_added BIGINT,
--          $already_known BIGINT
INSERT INTO intake VALUES (
    $intake_id, $file, $file_hash, $reading_hash, $kind, $now, $column_map, $headers,
    $rows_read, $rows_added, $rows_known, $rejected, $sets_added, $already_known, true,
    NULL
)
