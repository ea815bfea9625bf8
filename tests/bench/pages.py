"""Measures what a page costs a tablet: bytes over the link, first paint on a slow processor, and whether anything jumps.

    python -m tests.bench.pages [--json FILE]

weight_kb   everything that a first load brings, as it goes over the link (headers left out)
paint_ms    first paint with the processor slowed down four times, median of several loads without a cache
shift       the browser's own layout shift score while twelve entries change the panels; 0 is still
"""

from __future__ import annotations

import argparse
import json
import shutil
import statistics
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, BrowserContext, CDPSession, Page, sync_playwright

from app.base.database import migrate
from app.stations.values import KINDS
from tests.browser.server import Server

SLOWER = 4
LOADS = 5
PAGES = {
    "inside": "/inside?case={case}",
    "outside": "/outside",
    "board": "/board",
    "wall": "/wall/{case}",
    "case": "/case/{case}",
    "desk": "/desk",
}
BEFORE: Sequence[tuple[str, dict[str, Any]]] = (
    ("case.open", {"ref": "C1", "procedure": "intubation", "precaution": "airborne", "age": "adult"}),
    ("role.assign", {"TL": "Ada", "AO": "Bea", "AA": "Dan", "DOC": "Eve", "DR": "Cy"}),
    ("don.start", {"p": "Bea", "ens": "airborne"}),
    ("room.in", {"p": "Bea"}),
    ("monitor.on", {"capno": "waveform"}),
    ("preox.start", {}),
)
CHANGES: Sequence[tuple[str, dict[str, Any]]] = (
    ("vitals", {"spo2": 98, "hr": 90}), ("drug.given", {"class": "induction"}), ("drug.given", {"class": "relaxant"}),
    ("scope.start", {"n": 1}), ("vitals", {"spo2": 94}), ("tube.passed", {"size": 7.5}), ("cuff.up", {"cuff": 25}),
    ("vent.first", {}), ("co2.yes", {}), ("vitals", {"spo2": 97}), ("tube.secured", {"depth": 22}),
    ("vent.set", {"vt": 420, "rate": 16, "peep": 8, "fio2": 0.6}),
)  # fmt: skip
WATCH = """() => {
  window.shifts = 0;
  new PerformanceObserver((list) => { for (const one of list.getEntries()) window.shifts += one.value; })
    .observe({ type: "layout-shift", buffered: false });
}"""


def _context(browser: Browser, server: Server) -> BrowserContext:
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    context.add_cookies(
        [
            {"name": f"doorside_{kind}", "value": server.cookies[kind], "url": server.address, "sameSite": "Strict"}
            for kind in KINDS
        ]
    )
    return context


def _weight_kb(page: Page, link: CDPSession, address: str) -> float:
    """What a first load brings over the link."""
    received: list[float] = []
    link.on("Network.loadingFinished", lambda event: received.append(event["encodedDataLength"]))
    link.on("Network.dataReceived", lambda event: None)
    page.goto(address, wait_until="load")
    page.wait_for_timeout(500)  # what scripts and styles ask for later
    return round(sum(received) / 1000, 1)


def _paint_ms(page: Page, link: CDPSession, address: str) -> float:
    """First paint of one load on a processor that is so much slower."""
    link.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    page.goto(address, wait_until="load")
    page.wait_for_timeout(300)  # the browser writes its paint entry after the load event
    return float(page.evaluate("performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? NaN"))


def measure() -> dict[str, Any]:
    """The figures of every page."""
    with tempfile.TemporaryDirectory(prefix="doorside-pages-") as name, sync_playwright() as playwright:
        url = f"sqlite:///{Path(name) / 'doorside.db'}"
        migrate(url)
        server = Server(url, Path(name))
        server.pair()
        server.start()
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        try:
            return {page: _page(browser, server, path) for page, path in PAGES.items()}
        finally:
            browser.close()
            server.stop()


def _page(browser: Browser, server: Server, path: str) -> dict[str, float]:
    case = server.new_case()
    server.say(case, *BEFORE)
    address = server.address + path.format(case=case)
    paints = []
    for load in range(1 + LOADS):  # each with an empty cache
        context = _context(browser, server)
        page = context.new_page()
        link = context.new_cdp_session(page)
        link.send("Network.enable")
        if load == 0:
            weight_kb = _weight_kb(page, link, address)
            page.evaluate(WATCH)
            for said in CHANGES:
                server.say(case, said)
                page.wait_for_timeout(150)  # each change gets a drawing of its own: shifts are what is measured
            shift = round(float(page.evaluate("window.shifts")), 4)
        else:
            paints.append(_paint_ms(page, link, address))
        context.close()
    server.say(case, ("case.close", {}))
    return {"weight_kb": weight_kb, "paint_ms": round(statistics.median(paints)), "shift": shift}


def main(argv: Sequence[str] | None = None) -> int:
    """Measures and prints."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", type=Path, help="also write the figures there")
    args = parser.parse_args(argv)
    found = measure()
    if args.json:
        args.json.write_text(json.dumps(found, indent=1), "utf-8")
    print(f"{'page':<10}{'weight_kb':>10}{'paint_ms':>10}{'shift':>8}")
    for page, one in found.items():
        print(f"{page:<10}{one['weight_kb']:>10}{one['paint_ms']:>10}{one['shift']:>8}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
