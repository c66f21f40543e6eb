-- Sheets of the file; text has one.
-- grain:   one row per sheet
-- params:  none
CREATE TEMP TABLE sheet (sheet_no INTEGER, name TEXT)
