-- Whose the rejected rows are, as far as their cells or their file say.
-- grain:   one row per rejected row
-- returns: intake_id INTEGER, place_in_table BIGINT, lifter TEXT
-- params:  $owners STRUCT(intake_id INTEGER, place INTEGER, lifter TEXT)[]: where in the
--          cells the lifter stands, from 1, and whose the others are
SELECT a.intake_id, a.rowid AS place_in_table, coalesce(
    nullif(trim(list_extract(from_json(a.cells, '["VARCHAR"]'), o.place)), ''), o.lifter
) AS lifter
FROM rejected_row AS a
JOIN (SELECT unnest($owners, recursive := true)) AS o ON o.intake_id = a.intake_id
ORDER BY a.intake_id, a.rowid
