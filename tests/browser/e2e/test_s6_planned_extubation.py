"""S6 from the call to the close, every entry by a touch on a page: the same record as `doorside replay`."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.browser.e2e.compare import same_record
from tests.browser.e2e.conftest import Played

pytestmark = pytest.mark.browser

WORDS = {
    "re-intubation set to the door": "Re-intubation set",
    "suction mouth and tube (closed)": "closed suction",
    "sit up, 100% oxygen": "sat up on full oxygen",
    "sit up, increase oxygen, encourage cough into tissue": "helped to cough with more oxygen",
}
"""What the file says in its own words and the protocol in the department's."""


def test_s6_planned_extubation_by_touch_is_the_record_that_replay_makes(play: Callable[..., Played]) -> None:
    done = play("s6-planned-extubation", WORDS)
    same_record(done)
    assert done.player.scrolled == []
    assert done.player.typed_inside == 0
