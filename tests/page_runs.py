"""Pages run without a browser, and what they say."""

from pathlib import Path

from streamlit.testing.v1 import AppTest

MAIN = str(Path(__file__).parents[1] / "app" / "main.py")

VIEWS = sorted(
    path.parent.name
    for path in (Path(__file__).parents[1] / "app" / "views").glob("*/view.py")
    if path.parent.name != "people_and_data"  # only there for people who sign in
)


def page(view: str, **address: str) -> AppTest:
    app = AppTest.from_file(MAIN, default_timeout=120)
    for name, value in address.items():
        app.query_params[name] = value
    app.run()
    return app.switch_page(f"views/{view}/view.py").run()


def words(app: AppTest) -> str:
    parts = [*app.title, *app.header, *app.markdown, *app.info, *app.warning]
    return "\n".join(part.value for part in parts)
