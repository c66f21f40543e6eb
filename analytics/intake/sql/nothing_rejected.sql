-- The table of rejected rows, for a file without any.
-- grain:   one row per row of the file
-- returns: the columns of rejected
-- params:  none
CREATE TEMP TABLE rejected (
    row_no BIGINT, row_key UHUGEINT, column_name TEXT, value TEXT, problem TEXT,
    accepted TEXT, cells TEXT
)
