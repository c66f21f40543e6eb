-- Number of a cell that is a plain number with a decimal comma; NULL otherwise.
CREATE OR REPLACE TEMP MACRO plain(cell) AS CASE
    WHEN cell >= ',' AND cell < ':' AND NOT contains(cell, '.') AND NOT contains(cell, '_')
    THEN try_cast(replace(cell, ',', '.') AS DOUBLE)
END
