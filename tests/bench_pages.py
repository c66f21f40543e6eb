"""Times page changes and selections in Chromium, on a small and a long log.

    python tests/bench_pages.py [--sets 500000] [--store STORE]

A script, not a test: it prints a table and fails nothing. The strength fit is made
before the clock starts; a page is timed from the click until the script has run,
nothing on the page is marked stale and every figure is there. ``first`` is the first
visit of a new session of a new server, ``second session`` that of the next one.
"""

import argparse
import tempfile
import time
from functools import partial
from pathlib import Path

import numpy as np
import pandas as pd
from dashboard import PAGES, launched, served
from playwright.sync_api import Page, sync_playwright

from analytics.cli import demo
from analytics.intake import take_in
from analytics.store import Store
from analytics.strength import fitted

WATCH = """() => {
  const app = document.querySelector('[data-testid=stApp]');
  window.ran = false;
  new MutationObserver((_, watcher) => {
    if (app.dataset.testScriptState !== 'notRunning') {
      window.ran = true;
      watcher.disconnect();
    }
  }).observe(app, {attributes: true});
}"""
DONE = """() => {
  const app = document.querySelector('[data-testid=stApp]');
  const figures = [...document.querySelectorAll('[data-testid=stVegaLiteChart]')];
  return app && app.dataset.testScriptState === 'notRunning' && window.ran !== false
    && !document.querySelector('[data-stale=true]')
    && figures.every(figure => figure.querySelector('canvas, svg'))
    && document.querySelector('h1')?.textContent.startsWith(%r);
}"""
VARIANTS = {
    "standing_barbell_curl": 0.0,
    "preacher_curl_45": -0.10,
    "incline_curl_45": -0.15,
    "low_cable_curl": -0.05,
    "concentration_curl": -0.08,
    "standing_dumbbell_curl": -0.03,
}

PAD = "Supported curl on a 45° pad"
SELECTIONS = (  # stem: of the codes of lifters, as R0 of R02
    ("Strength over time", "Exercise", PAD),
    ("Next session", "Exercises", PAD),
    ("Next session", "Purpose", "The heaviest load for this lifter"),
    ("Through the range", "Exercise", PAD),
    ("Clients", "Compare up to four", "{stem}6"),
    ("Next session", "Who", "{stem}3"),
    ("Strength over time", "Who", "{stem}4"),
    ("Does the log fit?", "Who", "{stem}5"),
    ("Strength over time", "Who", "everyone"),
)


def long_log(sets: int, path: Path) -> None:
    """Write an invented log: 21 weeks, six variants, two sets of each a week."""
    rng = np.random.default_rng(5)
    lifters = -(-sets // (6 * 21 * 2))
    grid = np.meshgrid(range(lifters), range(6), range(21), range(2), indexing="ij")
    who, variant, week, _ = (axis.ravel()[:sets] for axis in grid)
    own = rng.normal(0, 0.05, (lifters, 6))
    strength = (
        rng.normal(3.3, 0.25, lifters)[who]
        + np.array(list(VARIANTS.values()))[variant]
        + own[who, variant]
        + rng.normal(0.003, 0.003, lifters)[who] * week
        + rng.normal(0, 0.034, (lifters, 21))[who, week]
    )
    reps, rir = rng.integers(5, 12, len(who)), rng.integers(0, 4, len(who))
    load = np.exp(strength - np.log1p((reps + rir - 1) / 30))
    day = pd.Timestamp("2025-01-06") + pd.to_timedelta(week * 7, unit="D")
    log = {
        "date": day.strftime("%Y-%m-%d"),
        "lifter": np.char.mod("L%04d", who),
        "exercise": np.array(list(VARIANTS))[variant],
        "load (kg)": np.round(load * 2) / 2,
        "reps": reps,
        "rir": np.where(rng.random(len(who)) < 0.5, np.nan, rir),
    }
    pd.DataFrame(log).sort_values(["date", "lifter"]).to_csv(path, index=False)


def wait(tab: Page, title: str) -> None:
    """Wait until the page with this title stands still."""
    tab.wait_for_function(DONE % title, timeout=60_000, polling=20)


def timed(tab: Page, title: str, act) -> float:
    """Seconds from an action until the page stands still."""
    if tab.locator("h1", has_text=title).count():
        tab.evaluate(WATCH)  # what is there already must change first
    began = time.perf_counter()
    act()
    wait(tab, title)
    return time.perf_counter() - began


def choose(tab: Page, label: str, value: str):
    """Pick one value of a list, and give back the last step to be timed."""
    box = tab.get_by_role("combobox", name=label, exact=False).first
    box.click()
    box.fill(value)
    return tab.get_by_role("option", name=value).first.click


def measure(store: Path, who: str, log: Path) -> pd.DataFrame:
    """Time every page change twice, then selections."""
    rows = []
    with served(store, log=log) as address, sync_playwright() as playwright:
        browser = launched(playwright)
        for visits in (("first", "again"), ("second session",)):
            tab = browser.new_page(viewport={"width": 1440, "height": 1000})
            tab.goto(f"{address}/?who={who}")
            wait(tab, "Home")
            tab.wait_for_timeout(1000)  # a click at once would lose who is chosen
            for visit in visits:
                for title in [*list(PAGES.values())[1:], "Home"]:
                    link = tab.get_by_role("link", name=title, exact=True).first
                    seconds = timed(tab, title, link.click)
                    rows.append((f"page, {visit}", title, seconds))
        for title, label, value in SELECTIONS:
            tab.get_by_role("link", name=title, exact=True).first.click()
            wait(tab, title)
            value = value.format(stem=who[:-1])
            seconds = timed(tab, title, choose(tab, label, value))
            rows.append(("selection", f"{title}: {value}", seconds))
            tab.keyboard.press("Escape")  # a list of several stays open
        tab.get_by_role("link", name="Through the range", exact=True).first.click()
        wait(tab, "Through the range")
        for label in ("Load as logged", "Elbow angle of the figure"):
            slider = tab.get_by_role("slider", name=label, exact=False).first
            act = partial(slider.press, "ArrowRight")
            seconds = timed(tab, "Through the range", act)
            rows.append(("selection", f"Through the range: {label}", seconds))
        browser.close()
    return pd.DataFrame(rows, columns=["what", "where", "seconds"])


def main() -> None:
    """Make the stores, fit, and print the times."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sets", type=int, default=500_000, help="0: only 14 lifters")
    parser.add_argument("--store", type=Path, help="a fitted store instead of these")
    parser.add_argument("--who", default="R02", help="a lifter of that store")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        stores = {}
        if chosen.store:
            stores[chosen.store] = chosen.who
        else:
            small = Store(folder / "fourteen.duckdb")
            demo.build(small)
            stores[small.path] = "R02"
            if chosen.sets:
                long_log(chosen.sets, folder / "long.csv")
                large = Store(folder / "long.duckdb")
                take_in(large, folder / "long.csv")
                fitted(large)
                stores[large.path] = "L0001"
        for store, who in stores.items():
            print(f"\n{store.name}")
            print(measure(store, who, folder / "server.log").to_string(index=False))


if __name__ == "__main__":
    main()
