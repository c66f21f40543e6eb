"""Drives every control of every page over and over and tells which never got done.

    python tests/drive_pages.py STORE [--minutes 20] [--who R02]

A script, not a test. The store is copied first, so that nothing in it is changed. An
action is done once the script has run, nothing is marked stale and every figure is
drawn; of one that is not within `PATIENCE_S` the state of the page is printed.
"""

import argparse
import collections
import shutil
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from dashboard import PAGES, launched, served
from playwright.sync_api import Error, Locator, Page, sync_playwright

PATIENCE_S = 45
DONE = """() => {
  const app = document.querySelector('[data-testid=stApp]');
  const figures = [...document.querySelectorAll('[data-testid=stVegaLiteChart]')];
  return app && app.dataset.testScriptState === 'notRunning'
    && !document.querySelector('[data-stale=true]')
    && figures.every(figure => figure.querySelector('canvas, svg'));
}"""
STATE = """() => ({
  script: document.querySelector('[data-testid=stApp]')?.dataset.testScriptState,
  stale: [...document.querySelectorAll('[data-stale=true]')].map(e => e.className),
  empty: [...document.querySelectorAll('[data-testid=stVegaLiteChart]')]
    .filter(e => !e.querySelector('canvas, svg')).length,
  title: document.querySelector('h1')?.textContent,
  said: document.querySelector('[data-testid=stMain]')?.innerText.slice(0, 600),
})"""
# How each kind of control is used; what removes or brings in sets is left alone.
KINDS = {
    "tab": "[data-testid=stMain] [role=tab]",
    "list": "[data-testid=stMain] [data-testid=stSelectbox] input",
    "lists": "[data-testid=stMain] [data-testid=stMultiSelect] input",
    "step": "[data-testid=stNumberInputStepUp]",
    "slider": "[data-testid=stMain] [role=slider]",
    "tick": "[data-testid=stCheckbox] label",
    "fold": "[data-testid=stExpander] summary",
}


def settled(tab: Page) -> bool:
    """Wait for a page to get done, and tell whether it did."""
    until = time.monotonic() + PATIENCE_S
    calm = 0
    while time.monotonic() < until:
        calm = calm + 1 if tab.evaluate(DONE) else 0
        if calm == 4:  # a run just asked for may not have begun
            return True
        tab.wait_for_timeout(80)
    return False


def use(tab: Page, kind: str, place: Locator) -> None:
    """Use one control as a person would."""
    place.scroll_into_view_if_needed(timeout=5000)
    if kind in ("list", "lists"):
        place.click(timeout=5000)
        tab.keyboard.press("ArrowDown")
        tab.keyboard.press("Enter")
        tab.keyboard.press("Escape")
    elif kind == "slider":
        place.press("ArrowRight", timeout=5000)
    else:
        place.click(timeout=5000)


def actions(tab: Page, address: str, who: str) -> Iterator[tuple[str, bool]]:
    """Open every page by its link and use all that is on it, once."""
    tab.goto(f"{address}/?who={who}")
    yield "open", settled(tab)
    for title in PAGES.values():
        tab.get_by_role("link", name=title, exact=True).first.click(timeout=10_000)
        yield f"{title}: page", settled(tab)
        for kind, where in KINDS.items():
            for number in range(tab.locator(where).count()):
                place = tab.locator(where).nth(number)
                if not place.is_visible() or not place.is_enabled():
                    continue
                use(tab, kind, place)
                yield f"{title}: {kind} {number}", settled(tab)


def drive(store: Path, minutes: float, who: str, log: Path) -> collections.Counter[str]:
    """Go round until the time is over; count clean and unfinished actions."""
    count: collections.Counter[str] = collections.Counter()
    until = time.monotonic() + minutes * 60
    with served(store, log=log) as address, sync_playwright() as playwright:
        browser = launched(playwright)
        while time.monotonic() < until:
            context = browser.new_context(viewport={"width": 1440, "height": 1000})
            tab = context.new_page()
            try:
                for action, done in actions(tab, address, who):
                    count["clean" if done else "unfinished"] += 1
                    if not done:
                        print(action, tab.evaluate(STATE), flush=True)
                        break
                    if time.monotonic() > until:
                        break
                else:
                    count["whole rounds"] += 1
            except Error as error:
                count["no place to click"] += 1
                print(str(error).splitlines()[0], tab.url, flush=True)
            context.close()
            print(dict(count), flush=True)
        browser.close()
    return count


def main() -> None:
    """Read the arguments and drive."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("store", type=Path)
    parser.add_argument("--minutes", type=float, default=20)
    parser.add_argument("--who", default="R02")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        own = Path(shutil.copy(chosen.store, Path(scratch) / "driven.duckdb"))
        log = Path(scratch) / "server.log"
        print(dict(drive(own, chosen.minutes, chosen.who, log)))
        print(log.read_text("utf-8")[-3000:])


if __name__ == "__main__":
    main()
