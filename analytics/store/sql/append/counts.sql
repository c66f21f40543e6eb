-- How many rows were read, and how many sets and rejected rows they hold.
-- grain:   one row
-- returns: rows_read BIGINT, good BIGINT, known BIGINT, rejected BIGINT, faulty BIGINT
-- params:  $flat BOOLEAN (every row is one set); tables typed, known, rejected,
--          still_rejected, view numbered
SELECT
    CASE
        WHEN $flat THEN (SELECT count(*) FROM typed)
        ELSE (SELECT count(DISTINCT row_no) FROM typed)
    END AS rows_read,
    (SELECT count(*) FROM numbered) AS good, (SELECT count(*) FROM known) AS known,
    (SELECT count(*) FROM still_rejected) AS rejected,
    (SELECT count(*) FROM rejected) AS faulty
