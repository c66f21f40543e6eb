"""Drives every control of every page over and over and tells which never got done.

    python tests/drive_pages.py STORE [--minutes 20] [--who R02] [--rush]

With --rush nobody waits: two visitors change choices, pages and controls in bursts, go
back, reload in mid-run, and the process beside the pages is killed now and then.

A script, not a test. The store is copied first, so that nothing in it is changed. An
action is done once the script has run, nothing is marked stale and every figure is
drawn; of one that is not within `PATIENCE_S` the state of the page is printed.
"""

import argparse
import collections
import os
import random
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import psutil
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


def use(tab: Page, kind: str, place: Locator, *, timeout: int = 5000) -> None:
    """Use one control as a person would."""
    place.scroll_into_view_if_needed(timeout=timeout)
    if kind in ("list", "lists"):
        place.click(timeout=timeout)
        tab.keyboard.press("ArrowDown")
        tab.keyboard.press("Enter")
        tab.keyboard.press("Escape")
    elif kind == "slider":
        place.press("ArrowRight", timeout=timeout)
    else:
        place.click(timeout=timeout)


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


def burst(tab: Page, rng: random.Random, workers: Callable[[], list[int]]) -> str:
    """Do several things without waiting for the page; say what."""
    done = []
    for _ in range(rng.randint(2, 6)):
        deed = rng.choice(["page", "choose", "choose", "control", "control", "back",
                           "reload", "kill", "pause"])  # fmt: skip
        try:
            done.append(_hurried(tab, rng, deed, workers))
        except Error:  # what was aimed at has just been replaced
            done.append(f"{deed} missed")
    return ", ".join(done)


def _hurried(
    tab: Page, rng: random.Random, deed: str, workers: Callable[[], list[int]]
) -> str:
    if deed == "page":
        title = rng.choice(list(PAGES.values()))
        tab.get_by_role("link", name=title, exact=True).first.click(timeout=1500)
        return title
    if deed in ("choose", "control"):
        frame = "[data-testid=stMain] .st-key-choices [data-testid=stSelectbox] input"
        kind = "list" if deed == "choose" else rng.choice(list(KINDS))
        places = tab.locator(frame if deed == "choose" else KINDS[kind])
        if not (count := places.count()):
            return f"no {kind}"
        number = rng.randrange(count)
        use(tab, kind, places.nth(number), timeout=1500)
        return f"{deed} {kind} {number}"
    if deed == "kill":
        for pid in workers():
            os.kill(pid, signal.SIGKILL)
    elif deed == "pause":
        tab.wait_for_timeout(rng.choice([50, 200, 700, 1500]))
    elif deed == "back":
        tab.go_back(wait_until="commit", timeout=3000)
        if tab.url == "about:blank":  # before the first page
            tab.go_forward(wait_until="commit", timeout=3000)
    else:
        tab.reload(wait_until="commit", timeout=5000)
    return deed


def rush(store: Path, minutes: float, who: str, log: Path) -> collections.Counter[str]:
    """Let two visitors hurry until the time is over; count bursts that end well."""
    count: collections.Counter[str] = collections.Counter()
    rng = random.Random(int(time.time()))
    until = time.monotonic() + minutes * 60
    with served(store, log=log) as address, sync_playwright() as playwright:
        (server,) = (
            p for p in psutil.Process().children() if "app.server" in p.cmdline()
        )

        def workers() -> list[int]:
            try:
                found = [(p.pid, " ".join(p.cmdline())) for p in server.children()]
            except psutil.NoSuchProcess:  # just ended by itself
                return []
            return [pid for pid, line in found if "spawn_main" in line]

        browser = launched(playwright)
        tabs = [browser.new_context().new_page() for _ in range(2)]
        for tab in tabs:
            tab.goto(f"{address}/?who={who}")
        while time.monotonic() < until:
            said = [burst(tab, rng, workers) for tab in tabs]
            for tab, deeds in zip(tabs, said, strict=True):
                done = settled(tab)
                count["calm again" if done else "never done"] += 1
                if not done:
                    print(deeds, tab.url, tab.evaluate(STATE), flush=True)
                    dump = ["py-spy", "dump", "--pid", server.pid]
                    subprocess.run([*map(str, dump)], check=False)
                    tab.goto(f"{address}/?who={who}")
            print(dict(count), flush=True)
        browser.close()
    return count


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
    parser.add_argument("--rush", action="store_true")
    chosen = parser.parse_args()
    go = rush if chosen.rush else drive
    with tempfile.TemporaryDirectory() as scratch:
        own = Path(shutil.copy(chosen.store, Path(scratch) / "driven.duckdb"))
        log = Path(scratch) / "server.log"
        print(dict(go(own, chosen.minutes, chosen.who, log)))
        print(log.read_text("utf-8")[-3000:])


if __name__ == "__main__":
    main()
