"""S1 and S2 from the call to their ends with the keyboard alone, on every page: the same record as `doorside replay`.

Tab, Shift+Tab, Enter, Space and the arrows, and letters where a form at the desk or the door asks for words.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.browser.e2e.compare import same_record
from tests.browser.e2e.conftest import Played
from tests.browser.e2e.keys import Keys

pytestmark = [pytest.mark.browser, pytest.mark.long]


@pytest.mark.parametrize("name", ["s1-normal-intubation", "s2-difficult-airway"])
def test_a_whole_case_by_keyboard_is_the_record_that_replay_makes(play: Callable[..., Played], name: str) -> None:
    done = play(name, hand=Keys)
    same_record(done)
    assert done.player.scrolled == []
    hands = [screen.count for screen in done.player.screens.all()]
    assert sum(hand.entries for hand in hands) > 50
    assert min(hand.pressed for hand in hands) > 0, "each page was played"
