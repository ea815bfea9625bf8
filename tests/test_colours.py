"""Contrast and size as the published formulas give them, and our own colours and targets held against their limits.

These are the check pairs UI-01 to UI-09 of the room values: they belong to how pages look, so they are no calculation
that the product offers. FLOW-07 (0.01 in. w.g. = 2.5 Pa) is none either: Doorside takes pressures in Pa only, and no
code converts inches of water; TIME-01 and TIME-02 are in `app/base/test_moments.py`.
"""

from __future__ import annotations

import re
from itertools import product
from pathlib import Path

import pytest

TOKENS = (Path(__file__).parents[1] / "static" / "css" / "tokens.css").read_text("utf-8")
LIGHT, DARK = re.findall(r":root \{(.*?)\}", TOKENS, re.DOTALL)
MM_PER_PX = 25.4 / 96  # CSS: 1 px = 1/96 in, nominal


def tokens(block: str) -> dict[str, str]:
    return dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", block))


def luminance(colour: str) -> float:
    """Relative luminance of #rrggbb, 0 to 1 (WCAG 2.2)."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1 to 21 (WCAG 2.2)."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize(
    ("foreground", "background", "ratio"),
    [  # UI-01 to UI-06, WCAG 2.2 relative-luminance formula [K]
        ("#000000", "#FFFFFF", 21.0),
        ("#767676", "#FFFFFF", 4.54),
        ("#FF0000", "#FFFFFF", 4.0),
        ("#FFFF00", "#FFFFFF", 1.07),
        ("#FFFF00", "#000000", 19.56),
        ("#00FFFF", "#000000", 16.75),
    ],
)
def test_the_contrast_formula_meets_its_published_pairs(foreground: str, background: str, ratio: float) -> None:
    assert contrast(foreground, background) == pytest.approx(ratio, abs=0.01)


@pytest.mark.parametrize("scheme", [LIGHT, DARK], ids=["light", "dark"])
def test_every_text_colour_reads_on_every_ground_that_it_stands_on(scheme: str) -> None:
    # WCAG 2.2 SC 1.4.3 (AA): 4.5 for normal text
    colour = tokens(scheme)
    pairs = [*product(("ink", "soft"), ("paper", "sheet")), ("on-act", "act"), ("on-stop", "stop")]
    pairs += [(name, ground) for name in ("act", "wait", "stop") for ground in ("paper", "sheet", f"{name}-wash")]
    pairs += [("ink", f"{name}-wash") for name in ("act", "wait", "stop")]
    weak = {pair: round(contrast(colour[pair[0]], colour[pair[1]]), 2) for pair in pairs}
    assert {pair: ratio for pair, ratio in weak.items() if ratio < 4.5} == {}


@pytest.mark.parametrize("scheme", [LIGHT, DARK], ids=["light", "dark"])
def test_the_ring_of_focus_stands_out_from_what_lies_around_it(scheme: str) -> None:
    # WCAG 2.2 SC 1.4.11 (AA): 3 for parts of controls
    colour = tokens(scheme)
    assert min(contrast(colour["focus"], colour[ground]) for ground in ("paper", "sheet")) >= 3


@pytest.mark.parametrize(("px", "mm"), [(24, 6.35), (44, 11.64), (75.6, 20)])
def test_a_size_in_pixels_is_the_published_size_in_millimetres(px: float, mm: float) -> None:
    # UI-07 to UI-09 [K]; 20 mm: Duff 2010
    assert px * MM_PER_PX == pytest.approx(mm, abs=0.01)


def test_what_is_touched_in_the_room_is_fifteen_millimetres_or_more() -> None:
    (touch_px,) = re.findall(r"--touch: (\d+)px", TOKENS)
    assert int(touch_px) * MM_PER_PX >= 15
