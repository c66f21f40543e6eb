-- What each fault is called, and what would be accepted.
-- grain:   one row per fault
-- params:  none
CREATE TEMP TABLE fault_word (fault TEXT, field TEXT, problem TEXT, accepted TEXT)
