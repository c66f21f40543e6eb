-- Number of a cell that is a plain number with a decimal point; NULL otherwise.
CREATE OR REPLACE TEMP MACRO plain(cell) AS CASE
    WHEN NOT contains(cell, '_') THEN try_cast(cell AS DOUBLE)
END
