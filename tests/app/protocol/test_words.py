"""Milestone references and sources, as people write them."""

from __future__ import annotations

import pytest

from app.protocol.words import EVIDENCE, cited, parse_match


@pytest.mark.parametrize(
    ("text", "kind", "body", "fits"),
    [
        ("preox.start", "preox.start", {}, True),
        ("preox.start", "preox.stop", {}, False),
        ("drug.given class=induction", "drug.given", {"class": "induction"}, True),
        ("drug.given class=induction", "drug.given", {"class": "relaxant"}, False),
        ("scope.end result!=tube; n=2", "scope.end", {"n": 2, "result": "no view"}, True),
        ("scope.end result!=tube; n=2", "scope.end", {"n": 2.0, "result": "no view"}, True),
        ("scope.end result!=tube; n=2", "scope.end", {"n": 1, "result": "no view"}, False),
        ("scope.end result=tube not passed", "scope.end", {"result": "tube not passed"}, True),
        ("item.move n=2", "item.move", {"n": True}, False),
        ("item.move n=two", "item.move", {"n": 2}, False),
    ],
)
def test_a_reference_fits_exactly_the_entries_it_names(
    text: str, kind: str, body: dict[str, object], fits: bool
) -> None:
    assert parse_match(text).fits(kind, body) is fits


def test_an_unknown_field_is_neither_equal_nor_different() -> None:
    assert not parse_match("scope.end result=tube").fits("scope.end", {"result": None})
    assert not parse_match("scope.end result!=tube").fits("scope.end", {})


def test_a_reference_is_written_back_as_it_was_read() -> None:
    for text in ("preox.start", "scope.end result!=tube; n=1"):
        assert str(parse_match(text)) == text


def test_a_half_written_condition_is_refused_with_the_way_to_write_it() -> None:
    with pytest.raises(ValueError, match="field=value"):
        parse_match("scope.end result")
    with pytest.raises(ValueError, match=r"preox\.start"):
        parse_match(3)


def test_a_source_is_read_with_its_codes_remark_and_mark() -> None:
    first, second, third = cited("UK20, SAS20 [G]; HEAT: mean 66 min [V]; limits: local default [L]")
    assert (first.codes, first.mark) == (("UK20", "SAS20"), "G")
    assert (second.codes, second.remark, second.mark) == (("HEAT",), "mean 66 min", "V")
    assert (third.codes, third.mark) == ((), "L")


def test_a_practice_without_a_source_names_no_code() -> None:
    assert cited("common practice, no source [P]")[0].codes == ()


@pytest.mark.parametrize("text", ["CCJM20", "CCJM20 [X]", "[V]", "", "CCJM20 [V]; and more"])
def test_a_source_without_a_known_evidence_mark_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"\[V\], \[G\], \[P\] or \[L\]"):
        cited(text)


def test_every_evidence_mark_has_words_for_a_person() -> None:
    assert set(EVIDENCE) == {"V", "G", "P", "L"}
