-- How many rows DuckDB read, and in how many of them the first column holds a text.
-- grain:   one row
-- returns: rows BIGINT, filled BIGINT
-- params:  none; table plain_row
SELECT count(*) AS rows, count(c0) AS filled
FROM plain_row
