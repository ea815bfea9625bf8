"""Is an oxygen cylinder ready, and what it does to the kit in which it lies."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from app.kit.cylinders import Judged, judged
from app.kit.ready import ready
from app.kit.tables import Cylinder, KitTemplate, KitTemplateItem
from tests.app.kit.test_ready import KIT, NOW, TODAY, check

FULL: dict[str, Any] = {"gauge_bar": 230.0, "full_bar": 230.0, "read_at": NOW}


def cylinder(**told: Any) -> Judged:
    one = Cylinder(id="C", label="O2-1", scheme="UK", size="CD", **FULL | told)
    return judged(one, NOW, TODAY, check_h=24, least_percent=50)


@pytest.mark.parametrize(
    ("told", "verdict"),
    [
        ({}, "ready"),
        ({"gauge_bar": 115.0}, "ready"),
        ({"gauge_bar": 114.9}, "under-filled"),
        ({"gauge_bar": 0.0}, "under-filled"),
        ({"expires_on": TODAY}, "ready"),
        ({"expires_on": TODAY - timedelta(days=1)}, "past its date"),
        ({"expires_on": TODAY - timedelta(days=1), "gauge_bar": 10.0}, "past its date"),
        ({"gauge_bar": None, "read_at": None}, "never read"),
        ({"read_at": NOW - timedelta(hours=24)}, "ready"),
        ({"read_at": NOW - timedelta(hours=24, seconds=1)}, "too old"),
        ({"full_bar": None}, "cannot be told"),
    ],
)
def test_a_cylinder_is_judged_by_its_gauge_its_date_and_the_age_of_the_reading(
    told: dict[str, Any], verdict: str
) -> None:
    assert cylinder(**told).verdict == verdict


def test_how_full_it_is_is_said_only_where_both_figures_are_known() -> None:
    assert cylinder(gauge_bar=57.5).percent == 25
    assert (cylinder(gauge_bar=None).percent, cylinder(full_bar=None).percent) == (None, None)


@pytest.mark.parametrize(
    ("told", "missing", "expired"),
    [
        ({}, [], []),
        ({"gauge_bar": 60.0}, ["oxygen"], []),
        ({"expires_on": TODAY - timedelta(days=1)}, [], ["oxygen"]),
        ({"gauge_bar": None, "read_at": None}, [], []),
    ],
)
def test_a_kit_lacks_oxygen_when_its_cylinder_is_known_not_to_do_and_not_when_nobody_knows(
    told: dict[str, Any], missing: list[str], expired: list[str]
) -> None:
    """This is what R10 hears of when the kit is staged."""
    items = [KitTemplateItem(id="o", template_id="T", code="oxygen", name="Oxygen", quantity=1, mandatory=True)]
    list_of = KitTemplate(id="T", name="Transport bag", tray="clean")
    found = ready(KIT, list_of, items, [], [check()], NOW, TODAY, check_h=24, cylinders=[cylinder(**told)])
    assert (found.staged["missing"], found.staged["expired"]) == (missing, expired)
    assert found.needs_look == bool(told)
