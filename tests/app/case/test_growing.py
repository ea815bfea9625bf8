"""Sequences that grow: what they share is never seen to change, and what is remembered is what a search would find."""

from __future__ import annotations

from random import Random

from hypothesis import given
from hypothesis import strategies as st

from app.case.growing import Grown


def test_a_longer_sequence_leaves_the_shorter_one_as_it_was() -> None:
    short = Grown("abc")
    long = short.followed_by("de")
    assert (tuple(short), tuple(long)) == (tuple("abc"), tuple("abcde"))
    assert (len(short), short[-1], short[1:], list(reversed(short))) == (3, "c", ("b", "c"), ["c", "b", "a"])


def test_two_that_go_on_differently_from_the_same_one_know_nothing_of_each_other() -> None:
    common = Grown("ab")
    one, other = common.followed_by("c"), common.followed_by("x")
    assert [tuple(each) for each in (one, other, common)] == [tuple("abc"), tuple("abx"), tuple("ab")]
    assert other.followed_by("y") == tuple("abxy")
    assert one == tuple("abc")


def test_what_goes_on_from_an_earlier_place_leaves_the_rest_out() -> None:
    assert Grown("abcd").followed_by("x", after=1) == tuple("ax")
    assert Grown("ab").followed_by("x", after=9) == tuple("abx")
    assert Grown[str]().followed_by("") == ()


def odd(number: int) -> int | None:
    return number if number % 2 else None


GROWTH = st.lists(st.tuples(st.integers(0, 12), st.lists(st.integers(0, 9), max_size=4)), max_size=12)


@given(GROWTH, st.randoms(use_true_random=False))
def test_any_growth_is_that_of_tuples_and_the_newest_is_that_of_a_search(
    growth: list[tuple[int, list[int]]], chance: Random
) -> None:
    kept: list[tuple[Grown[int], tuple[int, ...]]] = [(Grown(), ())]
    for after, new in growth:
        grown, plain = kept[chance.randrange(len(kept))]
        kept.append((grown.followed_by(new, after), (*plain[:after], *new)))
        for sequence, twin in kept:
            assert sequence == twin
            assert tuple(sequence) == twin
            assert sequence.newest("odd", odd) == next((number for number in reversed(twin) if odd(number)), None)
