"""The apnoea model against every published point, and the page that shows the errors as they are."""

from __future__ import annotations

from importlib.resources import files

from app.bedside.apnoea.validation import figures, page, points

POINTS = points()


def test_the_median_error_is_small_and_on_the_cautious_side() -> None:
    # reference, 4.2 (7): median between -15 and +5 %; the issue asks for 15 % at most
    assert -0.15 <= figures(POINTS)["median_error"] <= 0.05
    assert figures(POINTS)["median_size"] <= 0.15


def test_nine_points_of_ten_lie_within_two_spreads_and_six_within_one() -> None:
    assert figures(POINTS)["inside_two"] >= 0.9 * len(POINTS)
    assert figures(POINTS)["inside_one"] >= 0.6 * len(POINTS)


def test_every_published_point_is_there_and_the_misses_are_named() -> None:
    assert len(POINTS) == 28
    missed = [point.source for point in POINTS if not point.inside]
    assert missed == ["Br J Anaesth 2023;130:103", "Trends Anaesth Crit Care 2023, art. 101237"]


def test_the_page_in_the_tree_is_the_one_that_the_model_writes() -> None:
    assert files("app.bedside.apnoea").joinpath("APNOEA.md").read_text("utf-8") == page()
