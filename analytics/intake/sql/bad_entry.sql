-- Cells of the faulty sets, by field.
-- grain:   one row per faulty set
-- params:  none; relations entry, bad_row
CREATE TEMP TABLE bad_entry AS
SELECT e.row_no, e.slot, to_json(e) AS entry
FROM entry AS e
SEMI JOIN bad_row AS b ON b.row_no = e.row_no AND b.slot = e.slot
