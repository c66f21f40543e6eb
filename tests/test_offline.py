"""Everything stays on the machine: no page, report or command calls anybody."""

import json
import os
import shutil
import socket
import subprocess
import sys
from pathlib import Path
from urllib.parse import urlencode

import pytest
from dashboard import PAGES, settle
from hostile_log import CODES, hostile_store
from offline_run import listen

HERE = Path(__file__).parent
# Every address is this machine, so that whoever is called is one of our listeners.
OWN_NETWORK = (
    "ip link set lo up && ip route add local 0.0.0.0/0 dev lo table local && "
    'exec "$0" "$@"'
)


def test_nobody_is_called_by_pages_reports_commands_and_server(tmp_path):
    called = tmp_path / "called"
    called.touch()
    assert shutil.which("unshare"), "needs unshare of util-linux"
    namespace = ["unshare", "--map-root-user", "--net", "sh", "-c", OWN_NETWORK]
    done = subprocess.run(
        [*namespace, sys.executable, str(HERE / "offline_run.py"), str(tmp_path)],
        env=os.environ | {"CALLED": str(called), "PYTHONPATH": str(HERE.parent)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-3000:]
    assert json.loads(done.stdout.splitlines()[-1]) == []


@pytest.mark.browser
@pytest.mark.filterwarnings("ignore::ResourceWarning")
def test_no_name_and_no_note_is_loaded_by_a_browser(tab, serve, tmp_path):
    called = tmp_path / "called"
    called.touch()
    canary = f"http://127.0.0.1:{listen(called, socket.SOCK_STREAM, 0)}"
    address = serve(hostile_store(tmp_path, canary))
    asked = []
    tab.on("request", lambda request: asked.append(request.url))
    for who in ("", CODES[0]):
        for page in PAGES:
            for movement in ("elbow_flexion", "own"):
                chosen = {"who": who, "movement": movement}
                tab.goto(f"{address}/{page}?{urlencode(chosen)}")
                settle(tab)
                assert (
                    tab.locator(f"img[src*='{canary}'], a[href*='{canary}']").count()
                    == 0
                )
    local = (address, address.replace("http", "ws"), "data:", "blob:")
    assert [url for url in asked if not url.startswith(local)] == []
    assert called.read_text() == ""
