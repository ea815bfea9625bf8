"""S3 from the call to the close, every entry by a touch on a page: the same record as `doorside replay`."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.browser.e2e.compare import same_record
from tests.browser.e2e.conftest import Played

pytestmark = pytest.mark.browser


def test_s3_protective_equipment_breach_by_touch_is_the_record_that_replay_makes(play: Callable[..., Played]) -> None:
    done = play("s3-", {"replacement assistant": "Replacement for a person"})
    assert done.player.left_out == ["check.start P2", "check.start P1", "check.start P5"]
    same_record(done)
