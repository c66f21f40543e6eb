-- Full identity: content and occurrence number, for rows with nothing wrong.
-- grain:   one row per set
-- returns: row_no BIGINT, slot INTEGER, set_key UHUGEINT
-- params:  none; tables keyed, bad_row
CREATE TEMP TABLE numbered AS
SELECT row_no, slot,
    xor(content, CAST(
        row_number() OVER (PARTITION BY content ORDER BY row_no, slot) - 1 AS UHUGEINT
    )) AS set_key
FROM keyed
WHERE row_no NOT IN (SELECT row_no FROM bad_row)
