-- Identities of the file that the store holds, deleted ones included.
-- grain:   one row per identity
-- returns: set_key UHUGEINT
-- params:  none; view numbered, table logged_set
CREATE TEMP TABLE known AS
SELECT s.set_key AS set_key
FROM logged_set AS s
SEMI JOIN numbered AS n ON n.set_key = s.set_key
