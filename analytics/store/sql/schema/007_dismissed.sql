-- A rejected row may be dismissed by a person.

COMMENT ON COLUMN rejected_row.fixed_by IS 'Intake of the fixed row that took its place, 0 if a person dismissed it; NULL while it waits.';
