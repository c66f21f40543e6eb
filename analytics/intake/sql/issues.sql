-- Why rows of this file were rejected, by their place in it.
-- grain:   one row per rejected row
-- returns: sheet TEXT, row BIGINT, column_name TEXT, value TEXT, problem TEXT, accepted TEXT
-- params:  $most; relations still_rejected, sheet
SELECT s.name AS sheet, a.row_no % 4294967296 AS row, a.column_name, a.value, a.problem,
    a.accepted
FROM still_rejected AS a
JOIN sheet AS s ON s.sheet_no = a.row_no // 4294967296
ORDER BY a.row_no
LIMIT $most
