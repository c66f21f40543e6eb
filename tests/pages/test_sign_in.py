"""Signing in against a provider run here, and what those get who try otherwise."""

from __future__ import annotations

import re
import socket
import time
import urllib.error
import urllib.request

import club
import pytest
from dashboard import PATIENCE_S, new_visit, settle
from playwright.sync_api import Page

from analytics import store as stored

pytestmark = pytest.mark.browser
STRANGERS = ("eve@club.test", "Kim@club.test")  # not in the list; not verified
_READ = (
    "Home, Import logs, Today, Check sets, Strength over time, Compare exercises, "
    "Through the range, Are curls needed?, Does the log fit?, Next session"
)
OFFERED = {
    "lifter": f"{_READ}, Method and cautions, People and data",
    "coach": f"{_READ}, Clients, Method and cautions",
    "researcher": "Research tables, Through the range, Method and cautions",
    "owner": f"{_READ}, Clients, Research tables, Method and cautions, People and data",
}
SEEN = {
    "lifter": {"AA1"}, "coach": {"AA1", "BB2"}, "researcher": set(),
    "owner": set(club.CODES),
}  # fmt: skip


def codes(page: Page) -> set[str]:
    """Give the codes in the page and in what its lists offer."""
    if (who := page.get_by_label("Who")).count():
        who.first.click()
        page.wait_for_timeout(500)
    text = page.content()
    page.keyboard.press("Escape")
    return {code for code in club.CODES if code in text}


@pytest.mark.parametrize("role", list(club.PEOPLE))
def test_each_role_signs_in_and_is_offered_its_pages(role, shared, visitor):
    page = visitor(shared[0], club.PEOPLE[role][0])
    links = page.locator("[data-testid=stSidebarNavLink]").all_inner_texts()
    assert ", ".join(text.strip() for text in links) == OFFERED[role]
    assert codes(page) == SEEN[role]
    assert page.locator("[data-testid=stException]").count() == 0


@pytest.mark.parametrize("address", STRANGERS)
def test_who_is_not_in_the_list_or_not_verified_sees_nothing(address, shared, visitor):
    page = visitor(shared[0], address)
    assert codes(page) == set()
    assert page.locator("[data-testid=stSidebarNavLink]").count() == 0
    said = page.locator("[data-testid=stMarkdown]").inner_text()
    assert ("not in the list" if "eve" in address else "has verified") in said


@pytest.mark.parametrize(
    "place", ["?who=CC3", "clients?who=CC3", "strength-over-time?who=CC3&open=CC3",
              "research-tables", "import-logs?who=BB2"],
)  # fmt: skip
def test_a_lifter_with_anothers_address_sees_the_own_log(place, shared, visitor):
    page = visitor(shared[0], club.PEOPLE["lifter"][0])
    page.goto(f"{shared[0]}/{place}")
    settle(page)
    text = re.sub(r"who=\w+|open=\w+", "", page.content())
    assert not [code for code in ("BB2", "CC3") if code in text]
    assert "Sign out" in text


def test_a_cookie_signed_by_somebody_else_is_no_sign_in(shared, browser, visitor):
    real = visitor(shared[0], club.PEOPLE["owner"][0]).context.cookies()
    (cookie,) = (one for one in real if one["name"] == "_streamlit_user")
    body, _, seal = cookie["value"].rpartition(".")
    forged = f"{body}.{seal[:-4]}{'AAAA' if seal[-4:] != 'AAAA' else 'BBBB'}"
    for value, enters in ((cookie["value"], True), (forged, False)):
        context = new_visit(browser)
        context.add_cookies([{**cookie, "value": value}])
        page = context.new_page()
        page.goto(shared[0])
        name = "Sign out" if enters else "Sign in"
        page.get_by_role("button", name=name).wait_for()
        settle(page)
        assert codes(page) == (set(club.CODES) if enters else set())
        context.close()


@pytest.mark.parametrize(
    ("origin", "status"), [("https://evil.test", 403), (None, 101)]
)
def test_a_websocket_from_a_foreign_origin_is_refused(origin, status, shared):
    host = shared[0].removeprefix("http://")
    name, port = host.split(":")
    with socket.create_connection((name, int(port)), timeout=PATIENCE_S) as wire:
        wire.sendall(
            f"GET /_stcore/stream HTTP/1.1\r\nHost: {host}\r\nUpgrade: websocket\r\n"
            "Connection: Upgrade\r\nSec-WebSocket-Version: 13\r\n"
            "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n"
            f"Origin: {origin or shared[0]}\r\n\r\n".encode()
        )
        assert int(wire.recv(64).split()[1]) == status


def test_a_file_put_without_a_session_is_refused(shared):
    request = urllib.request.Request(
        f"{shared[0]}/_stcore/upload_file/not-a-session/1", b"x", method="PUT"
    )
    with pytest.raises(urllib.error.HTTPError) as refused:
        urllib.request.urlopen(request)
    assert 400 <= refused.value.code < 500
    refused.value.close()


def test_a_file_to_download_lies_where_nobody_guesses(shared, visitor):
    page = visitor(shared[0], club.PEOPLE["lifter"][0])
    page.goto(f"{shared[0]}/people-and-data")
    settle(page)
    with page.expect_download() as made:
        page.get_by_role("button", name="Download all my data, ZIP").click()
    address = made.value.url
    (name,) = re.findall(r"/media/([0-9a-f]{32,})", address)
    guess = address.replace(name, name[:-1] + ("0" if name[-1] != "0" else "1"))
    with urllib.request.urlopen(address) as answer:  # the guide's known limit
        assert answer.status == 200
    with pytest.raises(urllib.error.HTTPError) as refused:
        urllib.request.urlopen(guess)
    assert refused.value.code == 404
    refused.value.close()


def test_a_lifter_cannot_bring_in_sets_of_another(shared, visitor):
    server, store = shared
    before = stored.sets(store)
    page = visitor(server, club.PEOPLE["lifter"][0])
    page.goto(f"{server}/import-logs")
    settle(page)
    content = f"{club.HEADER}CC3,2024-05-06,hammer curl,99,8,1,\n".encode()
    page.locator("input[type=file]").set_input_files(
        {"name": "log.csv", "mimeType": "text/csv", "buffer": content}
    )
    page.get_by_text(re.compile("CC3.* is not .* to see")).first.wait_for()
    settle(page)
    assert page.get_by_role("button", name=re.compile("Import [0-9]")).count() == 0
    assert stored.sets(store).equals(before)


def test_who_is_taken_off_the_list_is_out_with_the_next_click(start, visitor):
    server, store = start()
    page = visitor(server, club.PEOPLE["coach"][0])
    assert codes(page) == {"AA1", "BB2"}
    stored.remove_person(store, club.PEOPLE["coach"][0])
    page.get_by_role("link", name="Clients").click()
    page.get_by_text("not in the list").wait_for()
    settle(page)
    assert codes(page) == set()


def test_a_session_ends_when_its_hours_are_over(start, visitor):
    server, _ = start(hours=15 / 3600)
    page = visitor(server, club.PEOPLE["owner"][0])
    time.sleep(16)
    page.reload()
    page.get_by_text("too long ago").wait_for()
    assert codes(page) == set()
