-- Sets with nothing wrong, under their full identity: content and occurrence number.
-- grain:   one row per set
-- returns: the columns of typed, set_key UHUGEINT
-- params:  none; tables typed, bad_row, repeat
CREATE TEMP VIEW numbered AS
SELECT t.*, CASE WHEN r.before IS NULL THEN t.content ELSE xor(t.content, r.before) END AS set_key
FROM typed AS t
LEFT JOIN repeat AS r ON r.row_no = t.row_no AND r.slot = t.slot
ANTI JOIN bad_row AS b ON b.row_no = t.row_no
