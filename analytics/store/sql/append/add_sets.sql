-- Store the new sets, in the order of the file.
-- grain:   one row per set
-- params:  $intake_id INTEGER, $core TEXT[] (columns of logged_set that the file fills); view numbered, table known
INSERT INTO logged_set BY NAME
SELECT n.set_key, $intake_id AS intake_id, n.row_no % 4294967296 AS source_row,
    COLUMNS($core)
FROM numbered AS n
ANTI JOIN known AS k ON k.set_key = n.set_key
