-- Number of a cell that is a plain number with a decimal point; NULL otherwise. What the
-- cast takes besides (`+-8`, `1_0`, `inf`) is read by the readers of cells, or rejected.
CREATE OR REPLACE TEMP MACRO plain(cell) AS CASE
    WHEN cell >= '-' AND cell < ':' AND NOT contains(cell, '_')
    THEN try_cast(cell AS DOUBLE)
END
