"""What the page asks of the store about exercise names."""

import re
from dataclasses import dataclass

import pandas as pd

from analytics import store as stored
from analytics.catalogue import search_words
from app.figure import counted
from app.state import read, store, variant_titles

LIKELY = 0.5  # likeness from which the nearest exercise is worth suggesting
RECOGNISED = {  # in the order in which they want to be looked at
    "typo": "by itself: a slip of the pen",
    "words": "by itself: the same words",
    "person": "you said so",
    "catalogue": "a known name",
}


@dataclass(frozen=True, slots=True)
class Said:
    """What the row of one name holds: a choice, or one's own exercise."""

    text: str
    chosen: str | None
    own: str
    movement: str | None

    @property
    def anything(self) -> bool:
        """Whether there is anything in it."""
        return bool(self.own.strip() or self.chosen)


def unnamed() -> pd.DataFrame:
    """Return exercise names that wait for a decision, with a likely suggestion."""
    rows = read(stored.unnamed)
    likely = rows["likeness"] >= LIKELY
    return rows.assign(suggestion=rows["nearest"].where(likely, ""))


def labels() -> dict[str, str]:
    """Return every variant by its title and the words a person may look for."""
    return {
        # Lists are searched from left to right: angles also stand behind the words.
        variant: " · ".join(
            [title, ", ".join([*search_words(variant), *re.findall(r"\d+", title)])]
        ).rstrip(" ·")
        for variant, title in variant_titles().items()
    }


def all_names() -> pd.DataFrame:
    """Return names with a meaning and how they came to it, doubtful ones first."""
    rows = read(stored.names)
    rows = rows[rows["variant"].notna()]
    order = {said: at for at, said in enumerate(RECOGNISED)}
    rows = rows.sort_values("decided_by", key=lambda c: c.map(order), kind="stable")
    rows = rows.assign(decided_by=rows["decided_by"].map(RECOGNISED))
    return rows[["text", "variant", "decided_by", "sets", "lifters"]]


def teach(said: list[Said]) -> list[str]:
    """Store what the names mean and confirm each in words."""
    meanings = [
        stored.meaning_of(
            store(), one.text, chosen=one.chosen, own=one.own, movement=one.movement
        )
        for one in said
    ]
    stored.teach_names(store(), meanings)
    return [
        confirmed(one.text)
        + (" What you typed went before the choice." if one.chosen and one.own else "")
        for one in said
    ]


def take_back(text: str) -> str:
    """Take back what was said of a name, and say what it means now."""
    stored.take_back_name(store(), text)
    return confirmed(text)


def confirmed(text: str) -> str:
    """Say what a name means now, and of how many sets."""
    rows = read(stored.names).set_index("text")
    if text not in rows.index:
        return f"{text} is taken back; no set has this name."
    row = rows.loc[text]
    if pd.isna(row["variant"]):
        return f"{text} waits for a meaning, {counted(row['sets'], 'set')}."
    title = variant_titles()[row["variant"]]
    return f"{text} means {title}, {counted(row['sets'], 'set')}."
