-- Cells whose effort was not read, by their place in the file.
-- grain:   one row per row of the file and field
-- returns: sheet TEXT, row_no BIGINT, slot INTEGER (from 0), field TEXT, text TEXT,
--          problem TEXT, accepted TEXT
-- params:  $most; tables effort_unread, cell, sheet
SELECT s.name AS sheet, u.row_no, min(u.slot) // 1000 AS slot,
    split_part(u.fault, ':', 1) AS field, u.text, any_value(c.problem) AS problem,
    any_value(c.accepted) AS accepted
FROM effort_unread AS u
JOIN sheet AS s ON s.sheet_no = u.row_no // 4294967296
LEFT JOIN cell AS c ON c.field = split_part(u.fault, ':', 1) AND c.text = u.text
GROUP BY s.name, u.row_no, u.fault, u.text
ORDER BY u.row_no, slot, field
LIMIT $most
