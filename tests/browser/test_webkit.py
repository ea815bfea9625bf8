"""The main story in the other engine, that of tablets with an apple on them: tap, cut off, reload, come back.

WebKitGTK by its own driver, under a screen of its own (`xvfb-run`); `deploy/test.sh` installs both on Debian.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import time
from collections.abc import Iterator
from typing import Any

import httpx
import pytest
from selenium.webdriver.common.by import By
from selenium.webdriver.remote.client_config import ClientConfig
from selenium.webdriver.remote.remote_connection import RemoteConnection
from selenium.webdriver.remote.webdriver import WebDriver
from selenium.webdriver.webkitgtk.options import Options

from tests.browser.conftest import INDUCED
from tests.browser.server import Server, free_port, until

pytestmark = pytest.mark.browser
KEPT = """const done = arguments[0];
navigator.serviceWorker.ready.then(() => caches.open('pictures')).then((one) => one.match(location.href)).then((one) => done(!!one));"""


@pytest.fixture
def webkit() -> Iterator[WebDriver]:
    """WebKitGTK with a new profile."""
    driver, screen, port = shutil.which("WebKitWebDriver"), shutil.which("xvfb-run"), free_port()
    assert driver is not None, "this test needs the driver of WebKitGTK (Debian: webkit2gtk-driver)"
    assert screen is not None, "this test needs a screen without a screen (Debian: xvfb, xauth)"
    running = subprocess.Popen(
        [screen, "-a", driver, f"--port={port}"],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True,
    )  # fmt: skip

    def answers() -> bool:
        try:
            return httpx.get(f"http://127.0.0.1:{port}/status", trust_env=False).status_code == 200
        except httpx.TransportError:
            return False

    until(answers, "an answer of WebKitWebDriver")
    browser: WebDriver | None = None
    try:
        address = ClientConfig(remote_server_addr=f"http://127.0.0.1:{port}")
        browser = WebDriver(RemoteConnection(client_config=address), options=Options())
        yield browser
    finally:
        if browser is not None:
            browser.quit()
        os.killpg(running.pid, signal.SIGTERM)  # the screen and the driver on it
        running.wait()


def text(webkit: WebDriver, where: str) -> str:
    return str(webkit.execute_script("return document.querySelector(arguments[0])?.textContent ?? ''", where))


def shows(webkit: WebDriver, where: str, words: str) -> None:
    until(lambda: (time.sleep(0.05), words in text(webkit, where))[1], f"{words!r} in {where}")


def linked(webkit: WebDriver, state: str) -> None:
    script = "return document.querySelector('#link')?.dataset.state"
    until(lambda: (time.sleep(0.05), webkit.execute_script(script) == state)[1], f"the link to be {state}")


def tap_next(webkit: WebDriver, words: str, then: str) -> None:
    shows(webkit, "#next .tap-next", words)
    webkit.find_element(By.CSS_SELECTOR, "#next .tap-next").click()
    shows(webkit, "#next .tap-next", then)
    time.sleep(0.72)  # a second touch within 0.7 s is a wet glove


def test_in_webkit_taps_of_a_gap_survive_a_reload_and_are_stored_once_in_order(server: Server, webkit: Any) -> None:
    case = server.new_case()
    server.say(case, *INDUCED)
    webkit.get(server.address + "/api/time")  # cookies are set where they belong
    webkit.add_cookie({"name": "doorside_inside", "value": server.cookies["inside"], "sameSite": "Strict"})
    webkit.get(f"{server.address}/inside?case={case}")
    linked(webkit, "live")
    until(lambda: (time.sleep(0.05), webkit.execute_async_script(KEPT))[1], "the picture")
    server.kill()
    linked(webkit, "lost")
    tap_next(webkit, "Laryngoscopy begins", "Tube through the cords")
    webkit.refresh()
    tap_next(webkit, "Tube through the cords", "Attempt over: tube in")
    shows(webkit, ".link-count", "2")
    shows(webkit, "#link", "The door cannot see this since")
    server.start()
    linked(webkit, "live")
    waiting = "return document.querySelector('.link-waiting').hidden"
    until(lambda: (time.sleep(0.05), webkit.execute_script(waiting))[1], "an empty outbox")
    station = server.cookies["inside"].partition(".")[0]
    sent = [entry.tap for entry in server.entries(case) if entry.tap.station == station]
    assert [(tap.kind, tap.counter) for tap in sent] == [("scope.start", 1), ("tube.passed", 2)]
    until(lambda: (time.sleep(0.05), not webkit.find_elements(By.CSS_SELECTOR, ".waits"))[1], "the server's own panels")
