"""S2 from the call until the airway is secured, every entry by a touch on a page: the record that `replay` makes."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.browser.e2e.compare import same_record
from tests.browser.e2e.conftest import Played

pytestmark = [pytest.mark.browser, pytest.mark.long]


def test_s2_difficult_airway_by_touch_is_the_record_that_replay_makes(play: Callable[..., Played]) -> None:
    done = play("s2-difficult-airway")
    same_record(done)
    assert done.player.scrolled == []
    assert done.player.typed_inside == 0
    inside = done.player.screens.inside.count
    # In a rescue nothing may lie behind a fold: what is declared, called and put in is one tap.
    rescue = ("rescue.declare", "help.call", "help.arrive", "mask.vent", "sga.out", "co2.no", "fona.start", "scope.end")
    assert {kind: touches for kind, touches in inside.by_kind.items() if kind in rescue and max(touches) > 1} == {}
