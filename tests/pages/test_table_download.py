"""A table leaves a page as the CSV that spreadsheets may open, and not as it is."""

import re
from pathlib import Path

import pytest
from dashboard import settle

from analytics.intake import take_in

LOG = "lifter,date,exercise,load_kg,reps,rir,note\n"
FORMULA = "=HYPERLINK(1)"


@pytest.mark.browser
@pytest.mark.filterwarnings("ignore::ResourceWarning")
def test_the_browsers_own_download_of_a_table_is_not_offered(
    tab, serve, store, tmp_path
):
    (tmp_path / "log.csv").write_text(
        LOG + "".join(
            f"R1,2025-01-{day:02d},{FORMULA} {day},20,8,1,{FORMULA}\n"
            f"R1,2025-01-{day:02d},barbell curl,{20 if day < 9 else 90},{FORMULA},1,\n"
            f"R1,2025-01-{day:02d},barbell curl,{20 if day < 9 else 90},8,1,{FORMULA}\n"
            for day in range(1, 12)
        )
    )  # fmt: skip
    take_in(store, tmp_path / "log.csv")
    address = serve(store.path)
    for place in ("check-sets", "import-logs"):
        tab.goto(f"{address}/{place}")
        settle(tab)
        tables = tab.locator("[data-testid=stDataFrame]:visible")
        assert tables.count() > 0
        for n in range(tables.count()):
            tables.nth(n).hover()
            tab.wait_for_timeout(200)
            offered = tab.locator("[data-testid=stElementToolbarButton]:visible")
            assert offered.count() > 0  # the others are
            own = tab.locator('[aria-label^="Download as CSV"]')
            assert own.count() > 0  # or its name has changed
            assert tab.locator('[aria-label^="Download as CSV"]:visible').count() == 0
    with tab.expect_download() as made:
        tab.get_by_role("button", name=re.compile("Download, CSV")).first.click()
    text = Path(made.value.path()).read_text("utf-8")
    assert FORMULA in text
    assert not re.search(rf'(^|,|\n)"?{re.escape(FORMULA)}', text)
