-- First sets of the file as they are read.
-- grain:   one row per set
-- returns: row BIGINT, lifter TEXT, performed_on DATE, exercise name_key TEXT, ...
-- params:  $most INTEGER; views typed, entry
SELECT t.row_no % 4294967296 AS "row", t.lifter, t.performed_on, t.name_key AS exercise,
    t.equipment, t.side, t.load_kg, t.on_body, t.reps, t.rir, t.failed, t.hold_s, t.note,
    coalesce(t.fault, '') AS fault
FROM typed AS t
ORDER BY t.row_no, t.slot
LIMIT $most
