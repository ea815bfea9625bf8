"""How many of a thing are where: whole where they are whole, for a count is no measurement."""

from __future__ import annotations

from tests.app.case.telling import state_of


def _written(places: object) -> str:
    """As text, in which 1 and 1.0 differ."""
    return repr(places)


def test_things_are_counted_in_whole_numbers() -> None:
    state = state_of(
        "00:10 kit.staged tray=clean; has=bougie,bougie,tube", "00:20 item.move item=bougie; from=clean; to=room"
    )
    assert _written(state.places["clean"]) == "{'tube': 1, 'bougie': 1}"
    assert _written(state.places["room"]) == "{'bougie': 1}"


def test_a_part_of_a_thing_stays_a_part() -> None:
    state = state_of(
        "00:20 item.move item=gel; to=room; quantity=0.5", "00:30 item.move item=gel; to=room; quantity=1.5"
    )
    assert _written(state.places["room"]) == "{'gel': 2}"
    assert _written(state_of("00:20 item.move item=gel; to=room; quantity=0.5").places["room"]) == "{'gel': 0.5}"
