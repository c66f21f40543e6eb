-- The table of rows set aside, for a file without any.
-- grain:   one row per row of the file
-- returns: the columns of set_aside
-- params:  none
CREATE TEMP TABLE set_aside (
    row_no BIGINT, row_key UHUGEINT, column_name TEXT, value TEXT, problem TEXT,
    accepted TEXT, cells TEXT
)
