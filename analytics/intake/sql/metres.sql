-- Length of a bare number: below 3 metres, from 3 on centimetres.
CREATE OR REPLACE TEMP MACRO metres(bare) AS CASE WHEN bare < 3 THEN bare ELSE bare / 100 END
