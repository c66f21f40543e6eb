-- Rows rejected now, without those a fixed row took the place of before.
-- grain:   one row per row of the file
-- returns: the columns of rejected
-- params:  none; tables rejected, rejected_row
CREATE TEMP TABLE still_rejected AS
SELECT a.row_no, a.row_key, a.column_name, a.value, a.problem, a.accepted, a.cells
FROM rejected AS a
WHERE a.row_key NOT IN (SELECT row_key FROM rejected_row WHERE fixed_by IS NOT NULL)
