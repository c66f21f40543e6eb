-- Identities of the file that the store holds, deleted ones included.
-- grain:   one row per identity
-- returns: set_key UHUGEINT
-- params:  none; view numbered, table body
CREATE TEMP TABLE known AS
SELECT s.body_key AS set_key
FROM body AS s
SEMI JOIN numbered AS n ON n.set_key = s.body_key
