"""Twenty people who change pages while a coach brings in logs, and how long it takes.

    python tests/load_run.py [--seconds 300] [--people 20] [--known]

Each is a session of the shared dashboard as browsers hold one, on its web socket, with
the cookie that signing in leaves; nothing is drawn. A change of page is timed from the
click until the page answers (its own title is there, and figures or a word that they
are being worked out) and until it is whole. With ``--known`` everybody has opened every
page once before, as on a server that has been up for a day.
"""

import argparse
import json
import os
import random
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

import numpy as np
import psutil
from bench_pages import long_log
from dashboard import ROOT, free_port, wait_for
from streamlit.proto.BackMsg_pb2 import BackMsg
from streamlit.proto.ForwardMsg_pb2 import ForwardMsg
from streamlit.web.server.starlette import starlette_app_utils as seals
from websockets.sync.client import ClientConnection, connect

from analytics import store as stored
from analytics.intake import take_in
from analytics.store import Store

SECRET = "c41d8b3365e0f9ab2447a15d5f2b90e4"
PAUSE_S = (4.0, 12.0)  # people look at a page before they open the next
IMPORT_S = 20.0
QUICK_S = 2.0
LIFTERS = 20
SERVE = [sys.executable, "-c", "from analytics.cli.main import main; main()", "serve"]


@dataclass
class Tally:
    """What happened, of all people together."""

    answered_s: list[float] = field(default_factory=list)
    whole_s: list[float] = field(default_factory=list)
    slow: list[str] = field(default_factory=list)
    left: int = 0
    errors: list[str] = field(default_factory=list)
    imports_s: list[float] = field(default_factory=list)
    server_s: float = 0.0
    sets_added: int = 0
    sets_lost: int = 0

    def words(self) -> str:
        return (
            f"{len(self.answered_s)} changes of page, {len(self.errors)} errors; "
            f"answered in {_seconds(self.answered_s)}; whole in "
            f"{_seconds(self.whole_s)}; {self.left} left before; "
            f"{len(self.imports_s)} imports of {self.sets_added} sets, "
            f"{self.sets_lost} lost, the longest {max(self.imports_s, default=0):.1f} s"
            f"; {self.server_s:.0f} s of processor for the server"
        )


def _seconds(took: list[float]) -> str:
    median, most = np.quantile(took, [0.5, 0.95])
    quick = np.mean(np.array(took) < QUICK_S)
    return f"{median:.2f} s (95 % {most:.2f}, under {QUICK_S:g} s {quick:.1%})"


class Visitor:
    """One session; its socket is read in the thread that clicks."""

    def __init__(self, port: int, address: str) -> None:
        origin = f"http://localhost:{port}"
        claims = {"email": address, "email_verified": True, "iat": int(time.time()),
                  "origin": origin, "is_logged_in": True}  # fmt: skip
        sealed = seals.create_signed_value(
            SECRET, "_streamlit_user", json.dumps(claims)
        ).decode()
        token = seals.generate_xsrf_token_string()
        self.wire: ClientConnection = connect(
            f"ws://localhost:{port}/_stcore/stream",
            origin=origin,
            subprotocols=["streamlit", token],
            additional_headers={
                "Cookie": f"_streamlit_user={sealed}; _streamlit_xsrf={token}"
            },
            max_size=None,
            legacy=True,
        )
        self.pages: dict[str, str] = {}

    def open(self, name: str, tally: Tally, *, patience_s: float) -> None:
        """Change the page, wait until it is whole or patience ends."""
        click = BackMsg()
        click.rerun_script.page_script_hash = self.pages.get(name, "")
        began, answered, title = time.monotonic(), False, False
        self.wire.send(click.SerializeToString())
        while (left_s := began + patience_s - time.monotonic()) > 0:
            try:
                message = ForwardMsg.FromString(self.wire.recv(timeout=left_s))
            except TimeoutError:
                break
            kind, since = message.WhichOneof("type"), time.monotonic() - began
            if kind == "navigation":
                self.pages = {
                    page.url_pathname: page.page_script_hash
                    for page in message.navigation.app_pages
                }
            elif kind == "delta":
                element = message.delta.new_element
                _look_for_errors(element, name, tally)
                first = title and bool(element.WhichOneof("type"))
                title = title or element.heading.tag == "h1"
                if first and not answered:
                    answered = True
                    tally.answered_s.append(since)
            elif kind == "script_finished":
                tally.whole_s.append(since)
                if since > QUICK_S:
                    tally.slow.append(name or "home")
                if not answered:
                    tally.answered_s.append(since)
                return
        tally.left += 1
        if not answered:
            tally.answered_s.append(patience_s)


def _look_for_errors(element, name: str, tally: Tally) -> None:
    kind = element.WhichOneof("type")
    if kind == "exception":
        tally.errors.append(f"{name}: {element.exception.message}")
    elif kind == "alert" and element.alert.format == element.alert.ERROR:
        tally.errors.append(f"{name}: {element.alert.body}")


def club(folder: Path, people: int) -> tuple[Store, list[str]]:
    """Make the store: twenty lifters of 252 sets, and who may sign in."""
    store = Store(folder / "club.duckdb")
    long_log(LIFTERS * 252, folder / "log.csv")
    take_in(store, folder / "log.csv")
    codes = list(stored.lifters(store)["lifter"])
    roles = [("owner", ()), ("researcher", ()), ("coach", codes[:10])]
    roles += [("lifter", (code,)) for code in codes]
    for number, (role, own) in enumerate(roles[:people]):
        stored.add_person(store, f"p{number}@club.test", role, own)
    stored.add_person(store, "coach@club.test", "coach", codes[10:])
    return store, list(stored.people(store)["address"])


def _visit(visitor: Visitor, until: float, tally: Tally, seed: int) -> None:
    chance = random.Random(seed)
    time.sleep(chance.uniform(0, PAUSE_S[1]))
    while time.monotonic() < until:
        name = chance.choice(sorted(visitor.pages))
        visitor.open(name, tally, patience_s=60)
        time.sleep(chance.uniform(*PAUSE_S))
    visitor.wire.close()


def _sign_in(port: int, address: str, *, known: bool) -> Visitor:
    """Open the first page, or every page; that is no change of page."""
    visitor = Visitor(port, address)
    visitor.open("", Tally(), patience_s=120)
    for name in sorted(visitor.pages) if known else ():
        visitor.open(name, Tally(), patience_s=120)
    return visitor


def _processor_s(server: psutil.Process) -> float:
    times = (one.cpu_times() for one in (server, *server.children(recursive=True)))
    return sum(one.user + one.system for one in times)


def _bring_in(store: Store, folder: Path, until: float, tally: Tally) -> None:
    coach = store.asked_by(stored.asking_of(store, "coach@club.test"))
    number = 0
    while time.monotonic() < until:
        path, number = folder / f"week{number}.csv", number + 1
        rows = (
            f"{coach.asking.lifters[number % 10]},2025-07-{1 + number % 28:02d},"
            f"standing barbell curl,{30 + number % 7},{reps},2\n"
            for reps in range(5, 11)
        )
        path.write_text("lifter,date,exercise,load (kg),reps,rir\n" + "".join(rows))
        began = time.monotonic()
        tally.sets_added += take_in(coach, path).sets_added
        tally.imports_s.append(time.monotonic() - began)
        time.sleep(IMPORT_S)


def run(
    folder: Path, *, people: int = 20, seconds: float = 300, known: bool = False
) -> Tally:
    """Serve the club, let people in, and count."""
    store, addresses = club(folder, people)
    before, port, tally = len(stored.sets(store)), free_port(), Tally()
    config = folder / "club.toml"
    config.write_text(
        f'[auth]\nredirect_uri = "http://localhost:{port}/oauth2callback"\n'
        f'cookie_secret = "{SECRET}"\nclient_id = "club"\nclient_secret = "x"\n'
        'server_metadata_url = "http://localhost:1/.well-known/openid-configuration"\n'
    )
    config.chmod(0o600)
    with (folder / "server.log").open("wb") as log:
        server = subprocess.Popen(
            [*SERVE, "--shared", str(config), "--port", str(port),
             "--store", str(store.path)],
            cwd=folder, env={**os.environ, "PYTHONPATH": str(ROOT)},
            stdout=log, stderr=subprocess.STDOUT,
        )  # fmt: skip
        try:
            wait_for(f"http://localhost:{port}/_stcore/health")
            enter = partial(_sign_in, port, known=known)
            with ThreadPoolExecutor(people) as door:
                visitors = list(door.map(enter, addresses[:people]))
            until, process = time.monotonic() + seconds, psutil.Process(server.pid)
            before_s = _processor_s(process)
            crowd = [
                threading.Thread(target=_visit, args=(one, until, tally, seed))
                for seed, one in enumerate(visitors)
            ]
            crowd.append(
                threading.Thread(target=_bring_in, args=(store, folder, until, tally))
            )
            for one in crowd:
                one.start()
            for one in crowd:
                one.join()
            tally.server_s = _processor_s(process) - before_s
        finally:
            server.terminate()
            server.wait(60)
    tally.sets_lost = before + tally.sets_added - len(stored.sets(store))
    return tally


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=300)
    parser.add_argument("--people", type=int, default=20)
    parser.add_argument("--known", action="store_true")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        tally = run(Path(folder), **vars(options))
    print(
        tally.words(), Counter(tally.slow).most_common(), *tally.errors[:20], sep="\n"
    )


if __name__ == "__main__":
    main()
