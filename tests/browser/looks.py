"""What a page may not do to an eye or a glove, measured in the browser itself.

`faults` gives what is wrong with a page as it stands: it goes over the side, a word is cut or torn, a target is too
small or too near to another, words are too small for a fogged visor, what is read from afar does not stand out. `violations` asks axe.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Literal

from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Page

SIZES = ({"width": 1280, "height": 800}, {"width": 800, "height": 1280}, {"width": 1920, "height": 1080})
GLOVE_PX, GLOVE_APART_PX = 57, 8
FINGER_PX = 44
STANDS_OUT = {"near": 4.5, "far": 7.0}
"""Contrast of what is read at all, and across the room (WCAG 2.2, formula of 1.4.3)."""

LEGIBLE_PX = 17
LITTLE = ".topbar, .fine"
"""Where smaller words stand in the room: that all is well with the line, and where a figure comes from."""

_FAULTS = r"""({ within, least, apart, legible, little, far, standsOut }) => {
  const root = document.querySelector(within), found = [], seen = new Set(), texted = new Set();
  const all = (selector) => [...root.querySelectorAll(selector)];
  const shows = (el) => el.checkVisibility({ visibilityProperty: true }) && !el.closest('.visually-hidden, .skip, option');
  const name = (el) => `${el.tagName.toLowerCase()}.${el.className} "${el.textContent.trim().replace(/\s+/g, ' ').slice(0, 40)}"`;
  const sideways = document.documentElement.scrollWidth - document.documentElement.clientWidth;
  if (sideways > 0) found.push(`scrolls sideways by ${sideways}`);

  // words: none wider than its box, none torn without a hyphen
  const BOXES = 'button, .btn-plain, a.tap, summary, label, h1, h2, h3, th, td, li, .caption, .room, .notice, .asked';
  for (const el of all(BOXES).filter(shows)) {
    if (el.clientWidth && el.scrollWidth > el.clientWidth + 1) found.push(`cut: ${name(el)} ${el.scrollWidth} in ${el.clientWidth}`);
    if (el.matches('button, .btn-plain') && el.scrollHeight > el.clientHeight + 2) found.push(`too tall: ${name(el)}`);
  }
  const texts = document.createTreeWalker(root, NodeFilter.SHOW_TEXT), range = document.createRange();
  while (texts.nextNode()) {
    const text = texts.currentNode, parent = text.parentElement, box = parent.closest(BOXES);
    const tiny = parseFloat(getComputedStyle(parent).fontSize) < legible && text.data.trim() && shows(parent);
    if (tiny && !parent.closest(little)) found.push(`tiny: ${name(parent)}`);
    if (!text.data.trim() || !box || !shows(parent) || parent.closest('select, svg, output')) continue;
    texted.add(parent);
    const edge = box.getBoundingClientRect();
    for (const word of text.data.matchAll(/\S+/g)) {
      range.setStart(text, word.index);
      range.setEnd(text, word.index + word[0].length);
      const lines = [...range.getClientRects()];
      if (lines.some((line) => line.right > edge.right + 1.5 || line.left < edge.left - 1.5)) found.push(`sticks out: "${word[0]}" of ${name(box)}`);
      const whole = !/[\u00ad\u2011–\/-]/.test(word[0]);
      if (whole && new Set(lines.map((line) => Math.round(line.top))).size > 1) found.push(`torn: "${word[0]}" of ${name(box)}`);
    }
  }

  // targets: links that stand in a sentence are read, not aimed at
  const inWords = (el) => el.matches('a') && getComputedStyle(el).display === 'inline';
  const targets = all('button, a[href], input, select, textarea, summary').filter((el) => {
    const box = el.getBoundingClientRect();
    return shows(el) && box.width > 1 && box.bottom > 0 && !inWords(el) && !el.closest('#undo');
  }).map((el) => [el, (el.matches('[type=checkbox], [type=radio]') ? el.closest('label') ?? el : el).getBoundingClientRect()]);
  for (const [el, box] of targets) {
    if (Math.min(box.width, box.height) < least - 0.5) found.push(`small: ${name(el)} ${Math.round(box.width)}x${Math.round(box.height)}`);
  }
  if (apart) targets.forEach(([a, one], i) => targets.slice(i + 1).forEach(([b, two]) => {
    if (a.contains(b) || b.contains(a)) return;
    const gap = Math.max(one.left - two.right, two.left - one.right, one.top - two.bottom, two.top - one.bottom);
    if (gap < apart - 0.5) found.push(`close: ${name(a)} / ${name(b)} ${gap.toFixed(1)}`);
  }));

  // what is read from afar
  const canvas = document.createElement('canvas').getContext('2d', { willReadFrequently: true });
  canvas.canvas.width = canvas.canvas.height = 1;
  const mixed = {};
  const read = (colour) => mixed[colour] ??= (() => {  // any form of colour, as the screen mixes it
    canvas.clearRect(0, 0, 1, 1); canvas.fillStyle = colour; canvas.fillRect(0, 0, 1, 1);
    return [...canvas.getImageData(0, 0, 1, 1).data];
  })();
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
  const pale = (el, enough, what) => {
    const ground = behind(el), ink = over(read(getComputedStyle(el).color), ground);
    const [high, low] = [light(ink), light(ground)].sort((a, b) => b - a), ratio = (high + 0.05) / (low + 0.05);
    if (ratio < enough) found.push(`pale: ${what} ${ratio.toFixed(2)}`);
  };
  for (const el of texted) if (!el.closest(':disabled')) pale(el, standsOut.near, name(el));
  for (const selector of far) for (const el of all(selector).filter((one) => shows(one) && one.textContent.trim())) {
    seen.add(selector);
    pale(el, standsOut.far, selector);
  }
  return { found: [...new Set(found)], seen: [...seen] };
}"""
_SETTLED = "document.getAnimations().forEach((one) => one.finish())"
"""Colours would be read half way from one to the other."""


def faults(page: Page, *, within: str = "body", far: Iterable[str] = ()) -> tuple[list[str], set[str]]:
    """What is wrong with what shows of a page, and which of the selectors of `far` had something to read."""
    glove = page.locator("body").get_attribute("data-page") == "inside"
    looked = page.evaluate(
        _FAULTS,
        {
            "within": within,
            "least": GLOVE_PX if glove else FINGER_PX,
            "apart": GLOVE_APART_PX if glove else 0,
            "legible": LEGIBLE_PX if glove else 0,
            "little": LITTLE,
            "far": list(far),
            "standsOut": STANDS_OUT,
        },
    )
    return looked["found"], set(looked["seen"])


def unfold(page: Page) -> None:
    """Opens everything that is folded away."""
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")


def violations(page: Page, *rules: str) -> list[str]:
    """What axe finds; with names of rules, by these alone."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE_SCRIPT)
    options: dict[str, Any] = {"resultTypes": ["violations"]}
    if rules:
        options["runOnly"] = {"type": "rule", "values": list(rules)}
    answer = page.evaluate("(options) => axe.run(document, options)", options)
    return [f"{one['id']}: {node['html'][:120]}" for one in answer["violations"] for node in one["nodes"]]


def by_night(page: Page) -> list[str]:
    """The page's colours on a dim ward, by axe; without a reload. By day again afterwards."""
    scheme(page, "dark")
    found = violations(page, "color-contrast")
    scheme(page, "light")
    return [f"dark: {one}" for one in found]


def scheme(page: Page, colours: Literal["light", "dark"]) -> None:
    """The page by day or on a dim ward, without a reload."""
    page.emulate_media(color_scheme=colours)
    page.evaluate(_SETTLED)
