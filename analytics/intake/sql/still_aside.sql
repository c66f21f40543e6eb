-- Rows set aside now, without those a repaired row took the place of before.
-- grain:   one row per row of the file
-- returns: the columns of set_aside
-- params:  none; tables set_aside, aside_row
CREATE TEMP TABLE still_aside AS
SELECT a.row_no, a.row_key, a.column_name, a.value, a.problem, a.accepted, a.cells
FROM set_aside AS a
WHERE a.row_key NOT IN (SELECT row_key FROM aside_row WHERE mended_by IS NOT NULL)
