"""Words and pictures of the columns of the table of clients."""

from streamlit import column_config as column

_PICTURES = {
    "trend": "strength, band",
    "slope": "slope",
    "change_4w": "last 4 weeks",
    "change_8w": "last 8 weeks",
    "ratios": "ratios ÷ all",
    "sides": "left ÷ right",
}
_SHARES = {
    "lean_frac": "leaned",
    "cheat_frac": "cheated",
    "effort_frac": "effort noted",
}
COLUMNS = {
    "lifter": column.Column("lifter", pinned=True),
    "chance_no_gain": column.ProgressColumn(
        "chance of no gain", min_value=0.0, max_value=1.0, format="%.2f", color="blue"
    ),
    "setup": "variant with most sets",
    "outliers": "outlying sets and steps",
    **{n: column.ImageColumn(words, width=116) for n, words in _PICTURES.items()},
    **{n: column.NumberColumn(words, format="percent") for n, words in _SHARES.items()},
}
