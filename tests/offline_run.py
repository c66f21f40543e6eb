"""Runs every page, report and command, and tells who was called: nobody should be.

Meant for a network namespace of its own in which every address is this machine, so
that a call to anywhere ends at the listeners here (`tests/test_offline.py` makes it).
"""

import json
import os
import socket
import subprocess
import sys
import threading
import time
from contextlib import contextmanager
from pathlib import Path

from click.testing import CliRunner
from dashboard import PATIENCE_S, wait_for
from hostile_log import COACH, CODES, hostile_store
from streamlit.testing.v1 import AppTest

from analytics import reports
from analytics.cli.main import main
from analytics.store import Store, sets_and_pains

ROOT = Path(__file__).parents[1]
LAST = ("undo", "restore", "forget")
PORTS = (80, 443, 53, 853)
# Any process of Python that starts with this on its path writes down whom it calls.
WATCH = """
import os, sys
def _watch(event, args):
    if event in ("socket.connect", "socket.sendto", "socket.getaddrinfo",
                 "socket.gethostbyname"):
        address = args[1] if event in ("socket.connect", "socket.sendto") else args
        host = address[0] if isinstance(address, tuple) else address
        host = host.decode() if isinstance(host, bytes) else str(host)
        local = ("127.", "localhost", "/", "::1", "None", "0.0.0.0")
        if not host.startswith(local):
            with open(os.environ["CALLED"], "a") as out:
                out.write(f"{event} {address}\\n")
sys.addaudithook(_watch)
"""


def listen(called: Path, kind: int, port: int) -> int:
    """Write down whoever comes to a port; returns the port."""
    listener = socket.socket(socket.AF_INET, kind)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    listener.bind(("0.0.0.0", port))
    port = listener.getsockname()[1]
    if kind == socket.SOCK_STREAM:
        listener.listen()

    def answer() -> None:
        while True:
            if kind == socket.SOCK_STREAM:
                peer, _ = listener.accept()
                told = peer.getsockname(), peer.recv(2000)[:200]
                peer.close()
            else:
                told = listener.recvfrom(2000)
            with called.open("a") as out:
                out.write(f"listener {port}: {told}\n")

    threading.Thread(target=answer, daemon=True).start()
    return port


def commands(store: Path, folder: Path) -> dict[str, list[str]]:
    """Arguments that let every command do its work on the hostile store."""
    log, back = str(folder / "log.csv"), str(folder / "back.duckdb")
    samples = ROOT / "sample_logs"
    trace = str(samples / "traces" / "barbell_angle.csv")
    south = str(samples / "coach_south.csv")
    code = CODES[0]
    first = sets_and_pains(Store(store))["set_id"].iloc[0]
    return {
        "variants": [], "rejected": [], "unnamed": [], "strength": [], "ratios": [],
        "fit": [], "sticking": [], "name": ["quark", "hammer_curl"],
        "curve": ["preacher_curl_45"], "setups": ["low_cable_curl"],
        "next": [code, "standing_barbell_curl", "--reps", "8"],
        "clients": [], "sets": [], "correct": [str(first), "note=seen"],
        "session": [code, "standing_barbell_curl"],
        "balance": ["--load", "30", "--mass", "75", "--stature", "1.75"],
        "trace": [trace], "intake": [log, "--dates", "iso"], "undo": ["1"],
        "backup": [back], "restore": [back],
        "tables": [str(folder / "tables"), "--smallest-cell", "5"],
        "report": [code, str(folder / "by_command.pdf")],
        "bench": ["--sets", "2000"], "forget": [COACH], "share": [code], "record": [],
        "withhold": [code], "person": ["list"],
        "cohort": [south, "--columns", str(samples / "coach_south.toml"), "--out",
                   str(folder / "cohort")],
    }  # fmt: skip


def run_commands(store: Path, folder: Path) -> None:
    """Run every command; what serves is run apart, as a process."""
    given = commands(store, folder)
    order = [*(n for n in given if n not in LAST), *LAST]
    left = set(main.commands) - set(given) - {"serve", "demo"}
    assert not left, f"not run: {left}"
    for name in order:
        form = ["--as", "csv"] if name not in ("fit",) else []
        of = ["--store", str(store)] if name != "cohort" else []
        command = [name, *given[name], *form, *of]
        done = CliRunner().invoke(main, command)
        assert done.exit_code == 0, (name, done.output, done.exception)


def run_pages(store: Path) -> None:
    """Run every page for everyone, and for one whose name is a picture."""
    os.environ["LACERTUS_STORE"] = str(store)
    views = sorted((ROOT / "app" / "views").glob("*/view.py"))
    names = [v.parent.name for v in views if v.parent.name != "people_and_data"]
    assert names
    for who in ("", CODES[0]):
        app = AppTest.from_file(str(ROOT / "app" / "main.py"), default_timeout=300)
        app.query_params["who"] = who
        app.run()
        for name in names:
            app.switch_page(f"views/{name}/view.py").run()
            assert not app.exception, (name, who, app.exception)


@contextmanager
def serving(store: Path, port: int):
    """Serve by command."""
    command = [sys.executable, "-c", "from analytics.cli.main import main; main()"]
    command += ["serve", "--port", str(port), "--store", str(store)]
    server = subprocess.Popen(command, stderr=subprocess.DEVNULL, cwd=ROOT)
    try:
        wait_for(f"http://127.0.0.1:{port}/_stcore/health")
        yield
    finally:
        server.terminate()
        server.wait(PATIENCE_S)


def run_server(store: Path) -> None:
    """Start the server and come to it from a page of somebody else."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    with serving(store, port), socket.create_connection(("127.0.0.1", port)) as page:
        page.sendall(
            f"GET /_stcore/stream HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n"
            "Origin: http://elsewhere.example\r\nUpgrade: websocket\r\n"
            "Connection: Upgrade\r\nSec-WebSocket-Version: 13\r\n"
            "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n".encode()
        )
        page.settimeout(PATIENCE_S)
        assert b" 403 " in page.recv(200)
        time.sleep(3)


def run() -> None:
    """Do everything and print whom it called."""
    folder = Path(sys.argv[1])
    called = Path(os.environ["CALLED"])
    exec(WATCH)
    for port in PORTS:
        listen(called, socket.SOCK_STREAM, port)
    listen(called, socket.SOCK_DGRAM, 53)
    canary = listen(called, socket.SOCK_STREAM, 0)
    watch = folder / "watch"
    watch.mkdir()
    (watch / "sitecustomize.py").write_text(WATCH)
    os.environ["PYTHONPATH"] = os.pathsep.join([str(watch), str(ROOT)])
    store = hostile_store(folder, f"http://127.0.0.1:{canary}")
    run_pages(store)
    for kind in ("html", "pdf"):
        reports.write_report(Store(store), CODES[0], folder / f"report.{kind}")
    run_server(store)
    run_commands(store, folder)
    print(json.dumps(called.read_text().splitlines()), flush=True)
    os._exit(0)  # tests of the log that pages began beside themselves are not awaited


if __name__ == "__main__":
    run()
