-- Efforts that cannot be read or be true, of sets with nothing else wrong: such a set
-- counts without its effort.
-- grain:   one row per set and field
-- returns: row_no BIGINT, slot INTEGER, fault TEXT, text TEXT
-- params:  $low and $high STRUCT (limits by column); view valued, table bad_row
CREATE TEMP TABLE effort_unread AS
WITH told AS MATERIALIZED (
    SELECT row_no, slot, rir_text, rir, rpe_text, rpe, failed_text, failed,
        rir_text IS NOT NULL AND rir_word IS DISTINCT FROM 'unknown'
            AND NOT coalesce(rir BETWEEN $low.rir AND $high.rir, false) AS rir_open,
        rpe_text IS NOT NULL AND rpe_word IS DISTINCT FROM 'unknown'
            AND NOT coalesce(rpe BETWEEN $low.rpe AND $high.rpe, false) AS rpe_open,
        failed_text IS NOT NULL AND failed_word IS DISTINCT FROM 'unknown'
            AND NOT coalesce(failed IN (0, 1), false) AS failed_open
    FROM valued
    WHERE (rir_open OR rpe_open OR failed_open)
        AND row_no NOT IN (SELECT row_no FROM bad_row)
)
SELECT row_no, slot, CASE WHEN rir IS NULL THEN 'rir:unread' ELSE 'rir:range' END AS fault,
    rir_text AS text
FROM told WHERE rir_open
UNION ALL
SELECT row_no, slot, CASE WHEN rpe IS NULL THEN 'rpe:unread' ELSE 'rpe:range' END, rpe_text
FROM told WHERE rpe_open
UNION ALL
SELECT row_no, slot, CASE WHEN failed IS NULL THEN 'failed:unread' ELSE 'failed:range' END,
    failed_text
FROM told WHERE failed_open
