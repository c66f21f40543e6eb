-- Sets that are equal to an earlier one of the file, with how many came before.
-- grain:   one row per repeated set
-- returns: row_no BIGINT, slot INTEGER, before UHUGEINT, gap BIGINT (rows since the
--          equal one before)
-- params:  none; tables typed, bad_row
-- Only contents that occur more than once are numbered, because numbering all rows
-- would sort them all.
CREATE TEMP TABLE repeat AS
WITH several AS (
    SELECT content FROM typed WHERE content IS NOT NULL GROUP BY content HAVING count(*) > 1
)
SELECT row_no, slot, before, gap
FROM (
    SELECT t.row_no, t.slot, CAST(
        row_number() OVER (PARTITION BY t.content ORDER BY t.row_no, t.slot) - 1 AS UHUGEINT
    ) AS before,
    t.row_no - lag(t.row_no) OVER (PARTITION BY t.content ORDER BY t.row_no, t.slot) AS gap
    FROM typed AS t
    SEMI JOIN several AS s ON s.content = t.content
    ANTI JOIN bad_row AS b ON b.row_no = t.row_no
)
WHERE before > 0
