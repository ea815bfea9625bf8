"""From when a room's air clears, by the precautions as they were said."""

from __future__ import annotations

import pytest

from app.case.clear_air import clear_due, clear_start
from tests.app.case.telling import ROOM, moment, state_of

LEFT = ("30:00 agp.end last=suction", "41:00 patient.out to=ward")


@pytest.mark.parametrize("precaution", ["Airborne", "airborne + contact", "contact, enhanced", "ENHANCED"])
def test_the_strictest_of_several_precautions_decides_however_they_are_written(precaution: str) -> None:
    opened = f"00:00 case.open precaution={precaution}"
    assert clear_start(state_of(opened, *LEFT)) == moment("41:00")
    assert clear_start(state_of(opened, LEFT[0])) is None


@pytest.mark.parametrize("precaution", ["contact", "Droplet", "droplet + contact", "none"])
def test_without_anything_in_the_air_but_the_act_itself_the_act_decides(precaution: str) -> None:
    assert clear_start(state_of(f"00:00 case.open precaution={precaution}", *LEFT)) == moment("30:00")


@pytest.mark.parametrize("opened", ["00:00 case.open ref=A", "00:00 case.open precaution=level four"])
def test_precautions_that_are_unknown_give_no_time_at_all(opened: str) -> None:
    state = state_of(opened, *LEFT, facts={"room": ROOM})
    assert clear_start(state) is None
    assert clear_due(state) is None
