-- Efforts that cannot be read or be true, of sets with nothing else wrong: such a set
-- counts without its effort.
-- grain:   one row per set and field
-- returns: row_no BIGINT, slot INTEGER, fault TEXT, text TEXT
-- params:  $low and $high STRUCT (limits by column); view valued, table bad_row
CREATE TEMP TABLE effort_unread AS
WITH told AS (
    SELECT row_no, slot, unnest([
        {
            'fault': CASE WHEN rir IS NULL THEN 'rir:unread' ELSE 'rir:range' END, 'text': rir_text,
            'open': rir_text IS NOT NULL AND rir_word IS DISTINCT FROM 'unknown'
                AND NOT coalesce(rir BETWEEN $low.rir AND $high.rir, false)
        },
        {
            'fault': CASE WHEN rpe IS NULL THEN 'rpe:unread' ELSE 'rpe:range' END, 'text': rpe_text,
            'open': rpe_text IS NOT NULL AND rpe_word IS DISTINCT FROM 'unknown'
                AND NOT coalesce(rpe BETWEEN $low.rpe AND $high.rpe, false)
        },
        {
            'fault': CASE WHEN failed IS NULL THEN 'failed:unread' ELSE 'failed:range' END,
            'text': failed_text,
            'open': failed_text IS NOT NULL AND failed_word IS DISTINCT FROM 'unknown'
                AND NOT coalesce(failed IN (0, 1), false)
        }
    ]) AS it
    FROM valued
    WHERE coalesce(rir_text, rpe_text, failed_text) IS NOT NULL
)
SELECT t.row_no, t.slot, t.it.fault AS fault, t.it.text AS text
FROM told AS t
ANTI JOIN bad_row AS b ON b.row_no = t.row_no
WHERE t.it.open
