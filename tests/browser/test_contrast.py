"""What is read across the room stands out at 7:1 or more, by day and on a dim ward (WCAG 2.2, formula of 1.4.3)."""

from __future__ import annotations

from typing import Any

import pytest

from tests.browser.conftest import INDUCED
from tests.browser.server import Server

pytestmark = pytest.mark.browser
LEAST = 7.0
FAR = {
    "/wall/{case}": (
        ".wall-room",
        ".wall-time",
        ".wall-figure",
        ".wall-next",
        ".wall-asks",
        ".wall-critical",
        ".caption",
    ),
    "/board": (".band .room", ".band .figure-words", ".time-large", ".band-notices li", ".band-people p"),
    "/inside?case={case}": (".time-huge", ".figure-large", ".tap-next", ".heading .room", ".notice-words", ".asked p"),
    "/outside": (".wanted-what", ".wanted .tap-next", ".notice-words", ".room-line .room"),
}
"""Page to what somebody reads on it from a distance."""
CONTRAST = """(selectors) => {
  const canvas = document.createElement('canvas').getContext('2d', { willReadFrequently: true });
  canvas.canvas.width = canvas.canvas.height = 1;
  const read = (colour) => {  // any form of colour, as the screen mixes it
    canvas.clearRect(0, 0, 1, 1); canvas.fillStyle = colour; canvas.fillRect(0, 0, 1, 1);
    return [...canvas.getImageData(0, 0, 1, 1).data];
  };
  const over = (top, below) => below.map((part, i) => i < 3 ? top[i] * top[3] / 255 + part * (1 - top[3] / 255) : 255);
  const behind = (el) => {
    const layers = [];
    for (let one = el; one; one = one.parentElement) layers.push(read(getComputedStyle(one).backgroundColor));
    return layers.reverse().reduce((below, top) => over(top, below), [255, 255, 255, 255]);
  };
  const light = (rgb) => {
    const [r, g, b] = rgb.map((part) => part / 255).map((c) => c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const found = {};
  for (const selector of selectors) for (const el of document.querySelectorAll(selector)) {
    if (!el.checkVisibility() || !el.textContent.trim()) continue;
    const ground = behind(el), ink = over(read(getComputedStyle(el).color), ground);
    const [high, low] = [light(ink), light(ground)].sort((a, b) => b - a);
    const ratio = (high + 0.05) / (low + 0.05);
    found[selector] = Math.min(found[selector] ?? Infinity, ratio);
  }
  return found;
}"""
TROUBLED = (
    *INDUCED, ("req.new", {"q": "q1", "item": "bougie", "urg": "now"}), ("vitals", {"spo2": 76}), ("scope.start", {"n": 1}),
)  # fmt: skip


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_what_is_read_across_the_room_stands_out(server: Server, screen: Any, scheme: str) -> None:
    case = server.new_case()
    server.say(case, *TROUBLED)
    one = screen(server, "inside", "outside", "board", color_scheme=scheme)
    measured, weak = 0, []
    for path, selectors in FAR.items():
        page = one.open(path.format(case=case))
        found = page.evaluate(CONTRAST, list(selectors))
        measured += len(found)
        weak += [f"{path} {selector} {ratio:.2f}" for selector, ratio in found.items() if ratio < LEAST]
    assert measured >= 15
    assert weak == []
