"""The dashboard's process: ports, signals and who may reach it."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import psutil
import pytest
from dashboard import PATIENCE_S, free_port

# Jobs of a script's background are born deaf to interrupts; a terminal's are not.
RUN = (
    "import signal; signal.signal(signal.SIGINT, signal.default_int_handler); "
    "from analytics.cli.main import main; main()"
)
COMMAND = [sys.executable, "-c", RUN, "serve"]


def started(port: int, folder: Path, **variables: str) -> subprocess.Popen[str]:
    server = subprocess.Popen(
        [*COMMAND, "--port", str(port), "--store", str(folder / "s.duckdb")],
        cwd=folder, env={**os.environ, **variables}, text=True,
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    )  # fmt: skip
    until = time.monotonic() + PATIENCE_S
    while True:
        try:
            urllib.request.urlopen(f"http://127.0.0.1:{port}/_stcore/health").close()
            return server
        except (urllib.error.URLError, ConnectionError):
            assert time.monotonic() < until
            assert server.poll() is None, server.communicate()[0]
            time.sleep(0.2)


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGINT])
def test_a_stopped_command_ends_its_dashboard(tmp_path, how):
    port = free_port()
    server = started(port, tmp_path)
    children = psutil.Process(server.pid).children(recursive=True)
    assert children
    server.send_signal(how)
    output, _ = server.communicate(timeout=PATIENCE_S)
    assert server.returncode == 0, output
    assert "Traceback" not in output
    assert not any(child.is_running() for child in children)
    with socket.socket() as listener:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind(("127.0.0.1", port))


def test_a_taken_port_is_a_sentence_and_no_success(tmp_path):
    with socket.socket() as holder:
        holder.bind(("127.0.0.1", 0))
        holder.listen()
        port = holder.getsockname()[1]
        done = subprocess.run(
            [*COMMAND, "--port", str(port)], cwd=tmp_path, text=True,
            capture_output=True, check=False, timeout=PATIENCE_S,
        )  # fmt: skip
    assert done.returncode == 2
    assert f"port {port}" in done.stderr
    assert "--port" in done.stderr
    assert len(done.stderr.splitlines()) == 1


@pytest.mark.parametrize("address", ["", "here", "1.2.3", "203.0.113.7"])
def test_an_address_nobody_can_listen_at_is_refused(tmp_path, address):
    # 203.0.113.0/24 is kept free for documentation, RFC 5737.
    done = subprocess.run(
        [*COMMAND, "--address", address], cwd=tmp_path, text=True,
        capture_output=True, check=False, timeout=PATIENCE_S,
    )  # fmt: skip
    assert done.returncode == 2
    assert len(done.stderr.splitlines()) == 1


def test_neither_environment_nor_file_opens_the_dashboard_to_others(tmp_path):
    (tmp_path / ".streamlit").mkdir()
    (tmp_path / ".streamlit" / "config.toml").write_text(
        '[server]\naddress = "0.0.0.0"\n', encoding="utf-8"
    )
    port = free_port()
    server = started(port, tmp_path, STREAMLIT_SERVER_ADDRESS="0.0.0.0")
    try:
        listening = {
            one.laddr.ip
            for child in psutil.Process(server.pid).children(recursive=True)
            for one in child.net_connections("tcp")
            if one.status == psutil.CONN_LISTEN
        }
        assert listening == {"127.0.0.1"}
    finally:
        server.terminate()
        server.communicate(timeout=PATIENCE_S)
