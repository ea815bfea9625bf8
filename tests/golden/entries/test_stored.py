"""Entries outlive every release: each stored example is still read as it was meant, and its hash still holds."""

from __future__ import annotations

from pathlib import Path

import pytest

from app.case.correction import happenings
from app.case.fold import fold
from app.case.happening import Mark
from app.case.vocabulary.registry import KINDS, read_body
from app.journal.chain import canonical, entry_hash
from tests.golden.entries.stored import entry, envelope, paths

OPENING = next(path for path in paths() if path.stem == "case.open.v1")
every = pytest.mark.parametrize("path", paths(), ids=lambda path: path.stem)


def test_there_is_one_of_every_kind_and_version_and_its_name_says_which() -> None:
    assert {path.stem for path in paths()} >= {f"{kind}.v{model.version}" for kind, model in KINDS.items()}
    assert all(path.stem.rsplit(".v", 1)[0] == envelope(path)["kind"] for path in paths())


@every
def test_a_stored_body_is_read_with_every_field_and_value(path: Path) -> None:
    stored = envelope(path)
    read = read_body(stored["kind"], stored["body"])
    dumped = read.model_dump(mode="json", by_alias=True, exclude_unset=True)
    assert dumped == stored["body"]


@every
def test_a_stored_entry_folds(path: Path) -> None:
    one = entry(envelope(path))
    (h,) = happenings([one])
    assert Mark.UNREADABLE not in h.marks
    state = fold(one.tap.case, [entry(envelope(OPENING)), one] if path != OPENING else [one])
    assert state.all(one.tap.kind)[-1].body == h.body


@every
def test_a_stored_hash_still_holds(path: Path) -> None:
    stored = envelope(path)
    columns = {name: value for name, value in stored.items() if name not in ("body", "facts", "hash")}
    assert entry_hash(columns, canonical(stored["body"]), canonical(stored["facts"])) == stored["hash"]
