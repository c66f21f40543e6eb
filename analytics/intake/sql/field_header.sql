-- Which header of the file each field stands under, or would.
-- grain:   one row per field and slot
-- params:  none
CREATE TEMP TABLE field_header (field TEXT, slot INTEGER, header TEXT, place INTEGER)
