-- Whether the numbers of a column count on, 1, 2, 3, within lifter, day and exercise.
-- grain:   one row
-- returns: several BIGINT (groups of two rows or more), counting BIGINT (those that count
--          on by one, or begin anew), longest BIGINT (rows of the longest of these),
--          rows BIGINT, fitting BIGINT (rows that begin or count on), first_row BIGINT,
--          values_seen TEXT (first rows of the first group that counts on)
-- params:  none; view counted (row_no, lifter, day, exercise, equipment, side, value; blank
--          cells filled down)
WITH stepped AS (
    SELECT *, lag(value) OVER its AS before, lag(value) OVER (
        PARTITION BY lifter, day ORDER BY row_no
    ) AS before_that_day
    FROM counted
    WINDOW its AS (PARTITION BY lifter, day, exercise, equipment, side ORDER BY row_no)
),
grouped AS (
    SELECT count(*) AS rows, min(row_no) AS first_row,
        list(value ORDER BY row_no)[:4] AS seen,
        coalesce(bool_and(value = before + 1 OR value = 1) FILTER (before IS NOT NULL), false)
            AND coalesce(bool_or(value = before + 1), false) AS counts
    FROM stepped
    GROUP BY lifter, day, exercise, equipment, side
)
SELECT count(*) FILTER (rows > 1) AS several, count(*) FILTER (counts) AS counting,
    coalesce(max(rows) FILTER (counts), 0) AS longest, sum(rows) AS rows,
    (
        SELECT count(*)
        FROM stepped
        WHERE value IN (0, 1) OR value = before + 1 OR value = before_that_day + 1
    ) AS fitting,
    min(first_row) FILTER (counts) AS first_row,
    array_to_string([CAST(CAST(n AS BIGINT) AS TEXT)
        FOR n IN arg_min(seen, first_row) FILTER (counts)], ', ') AS values_seen
FROM grouped
