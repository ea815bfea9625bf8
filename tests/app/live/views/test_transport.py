"""A patient on the way: oxygen against the way, the changeover in order, hand-over."""

import pytest

from app.live.views.transport import CHANGEOVER, Journey, TransportView
from tests.app.live.views.scene import CREW, OPEN, Said, after, html, now, offered, words

CALL = ("case.open", {"ref": "T", "procedure": "transport", "age": "adult", "tx_min": 25, "o2_lpm": 12})
OXYGEN = ("o2.check", {"litres": 605, "flow": 12})
LEAVES = ("tx.depart", {})


def way(*said: Said) -> Journey:
    (one,) = TransportView.of([now(*said)]).journeys
    return one


def test_only_patients_who_are_moved_are_there() -> None:
    assert TransportView.of([now(OPEN)]).journeys == ()
    assert words("transport", now(OPEN)) == ""


def test_the_oxygen_ends_rounded_down_and_counted_from_when_it_was_told() -> None:
    one = way(CALL, CREW, OXYGEN)
    assert one.oxygen.until == after(20 + 50 * 60), "605 L at 12 L/min is 50.4 min, shown as 50"
    assert one.oxygen.figure is not None
    assert one.oxygen.figure.source
    assert "Caution" in words("transport", now(CALL, OXYGEN))


def test_what_was_not_told_gives_no_number() -> None:
    assert way(CALL).oxygen.until is None
    silent = ("case.open", {"ref": "T", "procedure": "transport", "age": "adult"})
    told = way(silent, ("o2.check", {"litres": 600}), LEAVES)
    assert (told.oxygen.until, told.oxygen.need_l, told.due) == (None, None, None)


def test_the_planned_way_needs_its_oxygen_once_and_twice() -> None:
    one = way(CALL)
    assert (one.oxygen.need_l, one.oxygen.wanted_l) == (300, 600)


@pytest.mark.parametrize(
    ("said", "due_s"),
    [
        ((), 20 + 25 * 60),
        ((("tx.waypoint", {"at": "lift", "togo": 10}),), 30 + 10 * 60),
        ((("tx.waypoint", {"at": "lift", "togo": 10}), ("o2.check", {"togo": 5})), 40 + 5 * 60),
        ((("tx.waypoint", {"at": "lift"}),), 20 + 25 * 60),
    ],
)
def test_minutes_to_go_are_those_last_told_otherwise_those_planned(said: tuple[Said, ...], due_s: int) -> None:
    assert way(CALL, OXYGEN, LEAVES, *said).due == after(due_s)


def test_oxygen_that_ends_before_the_way_is_said() -> None:
    small = ("o2.check", {"litres": 120, "flow": 12})
    assert way(CALL, small, LEAVES).oxygen.short
    assert not way(CALL, OXYGEN, LEAVES).oxygen.short
    assert "The oxygen ends before the way does." in words("transport", now(CALL, small, LEAVES))


def test_the_changeover_is_one_tap_after_the_other_in_its_order() -> None:
    said: list[Said] = [CALL, OXYGEN]
    seen = []
    for _ in CHANGEOVER:
        offer = way(*said).now
        seen.append(offer.kind)
        said.append((offer.kind, {}))
    assert seen == ["vent.hold", "clamp.on", "circuit.off", "circuit.on", "clamp.off", "vent.resume"]
    assert (way(*said).now.kind, way(*said).under_way) == ("vent.hold", False)


def test_a_changeover_that_began_with_the_clamp_goes_on_from_there() -> None:
    assert way(CALL, ("clamp.on", {})).now.kind == "circuit.off"


def test_a_new_cylinder_waits_for_its_flow_to_be_felt() -> None:
    swap = ("o2.swap", {"litres": 460})
    assert way(CALL, OXYGEN, LEAVES, swap).unfelt_at == after(30)
    assert way(CALL, OXYGEN, LEAVES, swap, ("o2.check", {"flow": "felt"})).unfelt_at is None
    assert way(CALL, OXYGEN, LEAVES, ("o2.swap", {"litres": 460, "flow": "felt"})).unfelt_at is None


def test_the_next_thing_on_the_way_is_one_tap() -> None:
    said: list[Said] = [CALL, OXYGEN]
    for kind in ("tx.depart", "tx.arrive", "tx.accept", "handover.start"):
        assert way(*said).steps[0].kind == kind
        said.append((kind, {}))


def test_minutes_to_go_need_no_keyboard() -> None:
    assert [offer.body for offer in way(CALL).to_go] == [{"togo": m} for m in (5, 10, 15, 20, 30)]


def test_a_hand_over_is_read_back_point_by_point() -> None:
    said = (CALL, OXYGEN, LEAVES, ("tx.arrive", {}), ("handover.start", {}))
    assert 'data-kind="handover.done"' in html("transport", now(*said))
    assert html("transport", now(*said)).count('data-states="missing there"') == 7
    assert "handover.done" not in html("transport", now(*said, ("handover.done", {"items": ["Lines"]})))


def test_what_a_walker_needs_is_offered() -> None:
    kinds = set(offered("transport", now(CALL, OXYGEN, LEAVES)))
    assert {"tx.arrive", "tx.waypoint", "o2.check", "o2.swap", "vent.hold", "tx.accept"} <= kinds
