"""Takes a picture of every page at three widths, light and dark.

    python tests/screenshots.py STORE FOLDER [--page NAME] [--who CODE] [--width PX]
        [--mode light|dark] [--height PX]

A script, not a test: the pictures are for eyes and for the README.
"""

import argparse
import tempfile
from pathlib import Path

from dashboard import PAGES, launched, served, settle
from playwright.sync_api import sync_playwright

START = "home"
MODES = ("light", "dark")
WIDTHS = {390: 844, 1024: 768, 1440: 900}


def take(
    store: Path,
    folder: Path,
    pages: list[str],
    *,
    widths: list[int],
    modes: list[str],
    height: int,
    who: str,
) -> None:
    """Write FOLDER/PAGE-WIDTH-MODE.png, each its page down to a height."""
    folder.mkdir(parents=True, exist_ok=True)
    with (
        tempfile.TemporaryDirectory() as scratch,
        served(store, log=Path(scratch) / "server.log") as address,
        sync_playwright() as playwright,
    ):
        browser = launched(playwright)
        for width in widths:
            for mode in modes:
                context = browser.new_context(
                    viewport={"width": width, "height": WIDTHS[width]},
                    color_scheme=mode,
                )
                tab = context.new_page()
                for page in pages:
                    tab.goto(
                        f"{address}/{page}?who={who}" if who else f"{address}/{page}"
                    )
                    tab.get_by_role("heading", level=1).first.wait_for(timeout=60_000)
                    settle(tab)
                    tall = tab.evaluate(
                        "document.querySelector('[data-testid=stMain]').scrollHeight"
                    )
                    tab.set_viewport_size({"width": width, "height": min(tall, height)})
                    settle(tab)
                    tab.screenshot(path=folder / f"{page or START}-{width}-{mode}.png")
                    tab.set_viewport_size({"width": width, "height": WIDTHS[width]})
                context.close()
        browser.close()


def main() -> None:
    """Read the arguments and take the pictures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("store", type=Path)
    parser.add_argument("folder", type=Path)
    parser.add_argument(
        "--page", action="append", choices=[page or START for page in PAGES]
    )
    parser.add_argument("--width", action="append", type=int, choices=list(WIDTHS))
    parser.add_argument("--mode", action="append", choices=MODES)
    parser.add_argument("--height", type=int, default=9000)
    parser.add_argument("--who", default="")
    chosen = parser.parse_args()
    take(
        chosen.store,
        chosen.folder,
        [page.replace(START, "") for page in chosen.page or PAGES],
        widths=chosen.width or list(WIDTHS),
        modes=chosen.mode or list(MODES),
        height=chosen.height,
        who=chosen.who,
    )


if __name__ == "__main__":
    main()
