"""What the words of the trade mean, told where they stand."""

import re
import tomllib
from functools import cache
from importlib.resources import files


@cache
def _terms() -> tuple[tuple[str, re.Pattern[str], str], ...]:
    text = (files("app") / "data" / "glossary.toml").read_text("utf-8")
    return tuple(
        (
            row["term"],
            re.compile(rf"(?<!\w)(?:{row['form']})(?!\w)", re.I),
            row["means"],
        )
        for row in tomllib.loads(text)["term"]
    )


@cache
def explained(text: str) -> str | None:
    """Return what the words of a text mean, as a tooltip, or None without any.

    Parameters
    ----------
    text : str
        A headline, a label or the words of a column.
    """
    found = [
        f"**{term}**: {means}" for term, form, means in _terms() if form.search(text)
    ]
    return "\n\n".join(found) or None
