"""Notes that speak of pain and that nobody has judged yet, beside who and what load."""

import pandas as pd

from analytics.advice.rules import rule


def flag_notes(table: pd.DataFrame, notes: pd.DataFrame) -> pd.DataFrame:
    """Add to each lifter's flags how many notes speak of pain, and where.

    Parameters
    ----------
    table : DataFrame
        Of :func:`attention`.
    notes : DataFrame
        Of `store.pain_in_notes`.

    Returns
    -------
    table : DataFrame
        The same rows with longer ``flags``; who has none then comes last.
    """
    told = {}
    for lifter, sites in notes.groupby("lifter")["site"]:
        count = f"notes that speak of pain: {len(sites)}"
        told[lifter] = ", ".join([count, *sorted({*sites} - {""})])
    flags = [
        "; ".join(filter(None, [said, told.get(lifter)]))
        for lifter, said in zip(table["lifter"], table["flags"], strict=True)
    ]
    table = table.assign(flags=flags)
    flagged = table["flags"] != ""
    return pd.concat([table[flagged], table[~flagged]], ignore_index=True)


def note_sentence(notes: pd.DataFrame, last_day: pd.Timestamp) -> str:
    """Say of the newest note on pain when it was and where it hurt.

    Parameters
    ----------
    notes : DataFrame
        Of `store.pain_in_notes`, of one lifter.
    last_day : Timestamp
        Of the last session.

    Returns
    -------
    sentence : str
        Without an end, to be continued by what to do; empty if no note is as recent
        as pain that stops a load.
    """
    since = last_day - pd.Timedelta(days=rule("pain_within_days"))
    notes = notes[notes["performed_on"] >= since]
    if notes.empty:
        return ""
    newest = notes.iloc[0]
    site = newest["site"] and f" ({newest['site']})"
    return (
        f"a note of {newest['performed_on']:%Y-%m-%d} with {newest['exercise']} speaks "
        f"of pain{site}: `{newest['note'][:80]}`"
    )
