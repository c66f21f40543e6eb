-- The first number above 1 in a column that does not count on.
-- grain:   one row
-- returns: row_no BIGINT, value DOUBLE; NULL where all are 1
-- params:  none; view counted
SELECT min(row_no) AS row_no, arg_min(value, row_no) AS value
FROM counted
WHERE value > 1
