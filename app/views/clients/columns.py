"""Words and pictures of the columns of the table of clients."""

from streamlit import column_config as column

from analytics.labels import PER_CENT

_PICTURES = {
    "trend": "strength, band",
    "change_4w": "last 4 weeks",
    "change_8w": "last 8 weeks",
}
COLUMNS = {
    "lifter": column.Column("lifter", pinned=True),
    "flags": column.TextColumn("needs attention", width=280),
    "note": column.TextColumn("coach's note", width=160),
    "gaining_frac": column.NumberColumn("chance of gain", format=PER_CENT),
    "effort_frac": column.NumberColumn("effort noted", format=PER_CENT),
    **{n: column.ImageColumn(words, width=116) for n, words in _PICTURES.items()},
}
