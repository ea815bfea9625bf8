"""The department's own protocols: taken in when they are whole, approved by a second person, never changed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from importlib import resources

import pytest
from sqlalchemy import Engine

from app.base.errors import Conflict, NotPermitted, Unknown
from app.protocol import in_use, store
from app.protocol.library import protocol_by_id
from app.protocol.pinned import facts_of

NOW = datetime(2026, 11, 3, 14, 10, tzinfo=UTC)
BUILT_IN = (resources.files("app.protocol") / "library" / "bronchoscopy.yaml").read_text("utf-8")


OURS = protocol_by_id("bronchoscopy").version
"""The version that comes with the product; a department's own must be newer."""


def newer(version: int, title: str = "Bronchoscopy here") -> str:
    """The built-in file as a department's own, of a version."""
    lines = BUILT_IN.splitlines()
    return "\n".join(
        f"version: {version}"
        if line.startswith("version:")
        else f"title: {title}"
        if line.startswith("title:")
        else line
        for line in lines
    )


@pytest.fixture(autouse=True)
def _nothing_own_left() -> Iterator[None]:
    yield
    in_use.take_over((), ())


def taken(engine: Engine, version: int = OURS + 1) -> str:
    made, mistakes = store.take_in(engine, newer(version), "own.yaml", who="P1", now=NOW)
    assert mistakes == ()
    assert made is not None
    return made


def test_a_file_with_mistakes_is_not_kept_and_all_of_them_are_told(engine: Engine) -> None:
    made, mistakes = store.take_in(
        engine, newer(OURS + 1).replace("phases:", "fases:", 1), "own.yaml", who="P1", now=NOW
    )
    assert made is None
    assert mistakes
    assert store.versions(engine) == []


def test_a_version_is_in_use_only_once_a_second_person_approved_it(engine: Engine) -> None:
    made = taken(engine)
    store.read(engine)
    assert in_use.chosen("bronchoscopy", "adult").version == OURS
    for who in ("P1", "desk"):
        with pytest.raises(NotPermitted, match="second person"):
            store.approve(engine, made, who=who, now=NOW)
    store.approve(engine, made, who="P2", now=NOW)
    store.read(engine)
    chosen = in_use.chosen("bronchoscopy", "adult")
    assert (chosen.title, chosen.version) == ("Bronchoscopy here", OURS + 1)
    assert in_use.chosen("intubation", "adult") == protocol_by_id("intubation-adult")


def test_a_case_keeps_the_version_that_it_was_pinned_to_also_after_it_is_withdrawn(engine: Engine) -> None:
    first = taken(engine)
    store.approve(engine, first, who="P2", now=NOW)
    store.read(engine)
    pinned = facts_of(in_use.chosen("bronchoscopy", "adult"))
    second = taken(engine, OURS + 2)
    store.approve(engine, second, who="P2", now=NOW)
    store.withdraw(engine, first, who="P2", now=NOW)
    store.read(engine)
    assert in_use.chosen("bronchoscopy", "adult").version == OURS + 2
    found = in_use.pinned(pinned)
    assert found is not None
    assert found.version == OURS + 1
    assert in_use.pinned(facts_of(protocol_by_id("bronchoscopy"))) == protocol_by_id("bronchoscopy")
    assert in_use.pinned({"id": "bronchoscopy", "version": 99}) is None


@pytest.mark.parametrize("version", [OURS, OURS + 1])
def test_a_version_that_is_there_is_never_changed(engine: Engine, version: int) -> None:
    taken(engine)
    with pytest.raises(Conflict, match="not newer"):
        store.take_in(engine, newer(version, "Another"), "own.yaml", who="P1", now=NOW)
    assert [one.title for one in store.versions(engine)] == ["Bronchoscopy here"]


def test_the_file_comes_out_as_it_was_taken_in(engine: Engine) -> None:
    assert store.text_of(engine, taken(engine)) == newer(OURS + 1)
    with pytest.raises(Unknown):
        store.text_of(engine, "nothing")
