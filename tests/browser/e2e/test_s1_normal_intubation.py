"""S1 from the call to the close, every entry by a touch on a page: the same record as `doorside replay`."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.browser.e2e.compare import same_record
from tests.browser.e2e.conftest import Played

pytestmark = pytest.mark.browser
TAPS_A_MILESTONE = 1.3
TOUCHES_A_FIGURE = 4.0
"""A figure is stepped from the last one: large steps, then small ones. Common practice, no source."""


def test_s1_normal_intubation_by_touch_is_the_record_that_replay_makes(play: Callable[..., Played]) -> None:
    done = play("s1-normal-intubation")
    same_record(done)
    assert done.by_pages.live == []
    assert done.player.scrolled == []
    assert done.player.typed_inside == 0
    inside = done.player.screens.inside.count
    assert inside.entries > 25
    # A milestone is tapped; a figure or a word that goes along with it is set beside the tap and counted by itself.
    assert (inside.made + inside.opened) / inside.entries <= TAPS_A_MILESTONE, inside
    assert inside.said / inside.figures <= TOUCHES_A_FIGURE, inside
