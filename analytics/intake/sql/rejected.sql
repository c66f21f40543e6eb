-- Rejected rows, with what is wrong in words and all their mapped cells.
-- grain:   one row per row of the file
-- returns: row_no BIGINT, row_key UHUGEINT, column_name TEXT, value TEXT, problem TEXT,
--          accepted TEXT, cells TEXT (JSON list, in the order of the mapped headers)
-- params:  none; tables bad_row, bad_entry, row_cells, fault_word, field_header, cell, day_cell
CREATE TEMP TABLE rejected AS
WITH worded AS (
    SELECT b.row_no, b.slot, r.cells, h.header,
        coalesce(list_extract(r.cells, h.place), '') AS value,
        json_extract_string(e.entry, '$.' || w.field) AS text,
        json_extract_string(e.entry, '$.shorthand') AS unfold_accepted,
        json_extract_string(e.entry, '$.surplus') AS surplus,
        w.field, w.problem, w.accepted, md5_number(CAST(r.cells AS TEXT)) AS content
    FROM bad_row AS b
    JOIN row_cells AS r ON r.row_no = b.row_no
    JOIN bad_entry AS e ON e.row_no = b.row_no AND e.slot = b.slot
    JOIN fault_word AS w ON w.fault = b.fault
    LEFT JOIN field_header AS h ON h.field = w.field AND h.slot = b.slot // 1000
)
SELECT w.row_no,
    xor(w.content, CAST(
        row_number() OVER (PARTITION BY w.content ORDER BY w.row_no) - 1 AS UHUGEINT
    )) AS row_key,
    coalesce(w.header, w.field) AS column_name, w.value,
    CASE
        WHEN w.field = 'row' THEN w.surplus
        WHEN w.field = 'sets' THEN w.text
        ELSE coalesce(c.problem, d.problem, w.problem)
    END AS problem,
    CASE
        WHEN w.field = 'sets' THEN w.unfold_accepted
        ELSE coalesce(c.accepted, d.accepted, w.accepted)
    END AS accepted,
    CAST(to_json(w.cells) AS TEXT) AS cells
FROM worded AS w
LEFT JOIN cell AS c ON w.problem = '' AND c.field = w.field AND c.text = w.text
LEFT JOIN day_cell AS d
    ON w.problem = '' AND w.field IN ('performed_on', 'measured_on') AND d.text = w.text
ORDER BY w.row_no
