"""The people of the room by name, one tap each."""

from app.live.views.people import PeopleView
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, Said, after, now, words

INSIDE = (OPEN, CREW, *GOES_IN)


def taps(name: str, *said: Said) -> dict[str, dict[str, object]]:
    tile = next(one for one in PeopleView.of([now(*said)]).tiles if one.name == name)
    return {offer.label: {"kind": offer.kind, **offer.body} for offer in tile.taps}


def test_somebody_inside_comes_out_and_somebody_outside_goes_in_with_one_tap() -> None:
    assert taps("Bea", *INSIDE)["Comes out"] == {"kind": "room.out", "p": "P2"}
    assert taps("Ada", *INSIDE) == {"Goes in": {"kind": "room.in", "p": "P1"}}


def test_a_breach_asks_for_no_reason_and_can_be_called_major_afterwards() -> None:
    assert taps("Bea", *INSIDE)["Breach"] == {"kind": "breach", "p": "P2"}
    assert "It was major" not in taps("Bea", *INSIDE)
    said = (*INSIDE, ("breach", {"p": "P2"}))
    assert taps("Bea", *said)["It was major"] == {"kind": "tap.fix", "ref": "e5", "set_grade": "major"}
    again = taps("Bea", *said, ("tap.fix", {"ref": "e5", "set_grade": "major"}))
    assert "It was major" not in again
    assert "breach 14:00" in words("people", now(*said))


def test_who_made_the_attempt_is_put_right_by_their_name() -> None:
    said = (*INSIDE, ("room.in", {"p": "P1"}), ("scope.start", {"n": 1, "op": "P2"}))
    assert taps("Ada", *said)["Made the attempt"] == {"kind": "tap.fix", "ref": "e6", "set_op": "P1"}
    assert "Made the attempt" not in taps("Bea", *said)


def test_somebody_who_stays_lays_the_role_down_once_the_others_leave() -> None:
    assert "role.release" not in [one["kind"] for one in taps("Bea", *INSIDE).values()]
    leaving = taps("Bea", *INSIDE, ("co2.yes", {}), ("count.done", {}))
    assert {"kind": "role.release", "role": "AO", "p": "P2", "note": "stays as bedside nurse"} in leaving.values()


def test_those_inside_stand_first_and_the_runner_is_not_among_them() -> None:
    tiles = PeopleView.of([now(*INSIDE)]).tiles
    assert [one.name for one in tiles] == ["Bea", "Ada"]
    assert (tiles[0].stage, tiles[0].since) == ("inside", after(30))
