-- Rejected rows of earlier imports whose place this one takes.
-- grain:   one row per row of a file
-- params:  $intake_id INTEGER, $keys UHUGEINT[]
UPDATE rejected_row SET fixed_by = $intake_id
WHERE intake_id <> $intake_id AND list_contains($keys, row_key)
