"""Sign-in, web socket and upload behind the proxy of the guide, word for word."""

from __future__ import annotations

import re
import shutil
import ssl
import subprocess
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path

import club
import pytest
from dashboard import ROOT, free_port, settle
from playwright.sync_api import Page

from analytics import store as stored
from analytics.store import Store

# Needs nginx and openssl on the machine (Debian: apt-get install nginx-light openssl).
pytestmark = [pytest.mark.browser, pytest.mark.slow]
HEAD = "master_process off; daemon off; pid {folder}/pid; error_log {folder}/error.log;"
PLACES = "".join(
    f"{name}_temp_path {{folder}}/{name};"
    for name in ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")
)


def snippet() -> str:
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    (found,) = re.findall(r"```nginx\n(.*?)```", guide, re.DOTALL)
    return found


@pytest.fixture(scope="module")
def proxied(start, tmp_path_factory) -> Iterator[tuple[str, Store]]:
    """Put the proxy of the guide before a server: only names and ports are ours."""
    folder: Path = tmp_path_factory.mktemp("proxy")
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "1",
         "-subj", "/CN=localhost", "-keyout", folder / "key", "-out", folder / "pem"],
        check=True, capture_output=True,
    )  # fmt: skip
    port = free_port()
    origin = f"https://localhost:{port}"
    server, store = start(origin=origin)
    ours = {
        "listen 443": f"listen {port}", "club.example": "localhost",
        "http://127.0.0.1:8501": server,
        "/etc/ssl/club.pem": f"{folder}/pem", "/etc/ssl/club.key": f"{folder}/key",
    }  # fmt: skip
    text = snippet()
    for guide, here in ours.items():
        assert guide in text
        text = text.replace(guide, here)
    head, places = (part.replace("{folder}", str(folder)) for part in (HEAD, PLACES))
    config = folder / "nginx.conf"
    config.write_text(f"{head} events {{}} http {{ access_log off; {places} {text} }}")
    command = shutil.which("nginx") or "/usr/sbin/nginx"
    proxy = subprocess.Popen([command, "-c", str(config), "-p", str(folder)])
    try:
        yield origin, store
    finally:
        proxy.terminate()
        proxy.wait(30)


def test_a_coach_signs_in_and_brings_in_a_log_through_the_proxy(
    proxied, visitor: Callable[..., Page]
):
    origin, store = proxied
    before = len(stored.sets(store))
    page = visitor(origin, club.PEOPLE["coach"][0])
    sockets: list[str] = []
    page.on("websocket", lambda socket: sockets.append(socket.url))
    page.goto(f"{origin}/import-logs")
    settle(page)
    assert [url for url in sockets if url.startswith(f"wss{origin[5:]}/")]
    rows = "".join(
        f"AA1,2024-05-{1 + n % 28:02d},hammer curl,{9 + n % 200 / 8},8,1,{'x' * 150}\n"
        for n in range(12_000)
    )
    content = f"{club.HEADER}{rows}".encode()
    assert len(content) > 2_000_000  # a proxy takes 1 MB where it is told nothing
    page.locator("input[type=file]").set_input_files(
        {"name": "log.csv", "mimeType": "text/csv", "buffer": content}
    )
    page.get_by_role("button", name=re.compile("Import [0-9,]+")).first.click()
    page.get_by_text(re.compile("added|brought in|stored")).first.wait_for()
    settle(page)
    assert len(stored.sets(store)) == before + 12_000


def test_the_cookie_is_kept_from_scripts_and_plain_lines(proxied, visitor):
    page = visitor(proxied[0], club.PEOPLE["lifter"][0])
    cookies = {one["name"]: one for one in page.context.cookies()}
    assert cookies["_streamlit_user"]["httpOnly"]


def test_a_foreign_origin_is_refused_through_the_proxy_too(proxied):
    request = urllib.request.Request(
        f"{proxied[0]}/_stcore/health", headers={"Origin": "https://evil.test"}
    )
    trusting = ssl.create_default_context()
    trusting.check_hostname, trusting.verify_mode = False, ssl.CERT_NONE
    with urllib.request.urlopen(request, context=trusting) as answer:
        assert answer.headers.get("Access-Control-Allow-Origin") != "https://evil.test"
