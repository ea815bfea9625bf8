"""Photographs of the page of all components, and how far two of them are apart.

    python -m tests.browser.photographs        renews tests/golden/photographs after a change that is meant; look at them

They are kept small and grey: enough to notice a moved, missing, recoloured or overflowing part, and blind to how one
version of a browser smooths its letters.
"""

from __future__ import annotations

import io
import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from PIL import Image, ImageChops
from playwright.sync_api import Browser, sync_playwright

from app.base.database import migrate
from app.web.pages.style import MOMENTS
from tests.browser.ready import ROOT
from tests.browser.server import Server

GOLDEN = ROOT / "tests" / "golden" / "photographs"
SCHEMES = ("light", "dark")
WIDTH = 320
BLOCK = 16
"""Pictures are compared in squares of so many pixels: a change must fill a part of one to be seen."""


def shots(browser: Browser, server: Server, scheme: str) -> Iterator[tuple[str, Image.Image]]:
    """Each state of the style page in one colour scheme: its name, and the photograph."""
    context = browser.new_context(viewport={"width": 1280, "height": 800}, color_scheme=scheme)
    context.add_cookies(
        [{"name": "doorside_desk", "value": server.cookies["desk"], "url": server.address, "sameSite": "Strict"}]
    )
    page = context.new_page()
    for state in range(len(MOMENTS)):
        page.goto(f"{server.address}/style?state={state}", wait_until="load")
        page.evaluate("document.fonts.ready")
        taken = Image.open(io.BytesIO(page.screenshot(full_page=True, animations="disabled")))
        yield f"{state}-{scheme}", small(taken)
    context.close()


def small(taken: Image.Image) -> Image.Image:
    """A photograph as it is kept."""
    return taken.convert("L").resize((WIDTH, round(taken.height * WIDTH / taken.width)), Image.Resampling.BOX)


def apart(one: Image.Image, two: Image.Image) -> float:
    """How far the two differ in the square where they differ most: 0 the same, 255 white against black.

    Pages of different length are compared as far as both go; `test_photographs.py` looks at the length by itself.
    """
    height = min(one.height, two.height)
    difference = ImageChops.difference(one.crop((0, 0, WIDTH, height)), two.crop((0, 0, WIDTH, height)))
    blocks = difference.resize((WIDTH // BLOCK, max(1, height // BLOCK)), Image.Resampling.BOX)
    return float(max(blocks.tobytes()))


def main() -> int:
    """Takes all photographs anew."""
    GOLDEN.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        url = f"sqlite:///{Path(name) / 'doorside.db'}"
        migrate(url)
        server = Server(url, Path(name))
        server.pair()
        server.start()
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        for scheme in SCHEMES:
            for title, taken in shots(browser, server, scheme):
                taken.save(GOLDEN / f"{title}.png", optimize=True)
        browser.close()
        server.stop()
    return 0


if __name__ == "__main__":
    sys.exit(main())
