"""Every kind has all that a kind needs: a body, a handler, a sentence, a line of meaning and a stored example."""

from __future__ import annotations

from pathlib import Path

import pytest

from app.base.kinds import KINDS as LISTED
from app.base.kinds import KINDS_BY_FAMILY
from app.case.correction import happenings
from app.case.fold import fold
from app.case.folds.handlers import HANDLERS
from app.case.sentences import SENTENCES, UNITS, details, sentence
from app.case.vocabulary import document
from app.case.vocabulary.registry import KINDS, fields_of, read_body
from app.journal.chain import canonical, entry_hash
from tests.app.case.golden import FILES, entry, stored

VOCABULARY = Path(document.__file__).with_name("VOCABULARY.md")


def test_every_listed_kind_has_a_body_a_handler_and_a_sentence_and_none_has_more() -> None:
    assert set(KINDS) == set(HANDLERS) == set(SENTENCES) == LISTED


def test_every_kind_says_in_its_docstring_what_it_means() -> None:
    assert [kind for kind, model in KINDS.items() if not vars(model).get("__doc__")] == []
    meanings = [document.meaning(model) for model in KINDS.values()]
    assert len(set(meanings)) == len(meanings)
    assert [meaning for meaning in meanings if meaning[-1] not in ".…"] == []


def test_every_kind_has_a_stored_example_of_each_version_it_ever_had() -> None:
    wanted = {f"{kind}.v{version}.json" for kind, model in KINDS.items() for version in range(1, model.version + 1)}
    assert {path.name for path in FILES} == wanted


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_stored_example_still_reads_with_everything_it_said(path: Path) -> None:
    given = entry(path)
    assert path.stem.rpartition(".")[0] == given.tap.kind
    said = read_body(given.tap.kind, given.tap.body).model_dump(by_alias=True, exclude_unset=True, mode="json")
    assert said == given.tap.body


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_stored_example_still_folds(path: Path) -> None:
    given = entry(path)
    (kept,) = fold(given.tap.case, [given]).all(given.tap.kind)
    assert kept.id == given.tap.id
    assert kept.body == read_body(given.tap.kind, given.tap.body)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_stored_example_still_has_the_hash_it_was_stored_with(path: Path) -> None:
    columns = stored(path)
    body, facts, kept = columns.pop("body"), columns.pop("facts"), columns.pop("hash")
    assert entry_hash(columns, canonical(body), canonical(facts)) == kept


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_stored_example_can_be_said_in_words_and_loses_nothing(path: Path) -> None:
    (happening,) = happenings([entry(path)])
    said = sentence(happening)
    words = said.message % said.params
    assert words
    assert "%(" not in words
    shown = {detail.field for detail in details(happening)}
    spoken = {name for name in happening.body.model_dump(by_alias=True) if f"%({name})s" in said.message}
    if "dose" in shown:
        spoken.add("unit")  # shown as the unit of the dose
    if happening.kind != "role.assign":  # its fields are roles, put into one place of the sentence
        assert shown | spoken == set(entry(path).tap.body)


def test_all_stored_examples_together_are_one_case() -> None:
    entries = [entry(path) for path in FILES]
    state = fold(entries[0].tap.case, entries)
    missing = [kind for kind in KINDS if not state.all(kind)]
    assert missing == ["hold"]  # the one that the stored `tap.void` takes out
    assert state.all("vitals")[0].body.spo2 == 95  # what the stored `tap.fix` sets
    assert state.setup.pathogen == "tuberculosis (suspected)"
    assert state.people["P1"].facts["job"] == "consultant anaesthetist"


def test_a_stored_example_gives_every_field_that_its_kind_has() -> None:
    for path in FILES:
        given = entry(path)
        if KINDS[given.tap.kind].version == int(path.stem.rpartition(".v")[2]):
            assert fields_of(given.tap.kind) <= set(given.tap.body), path.name


def test_the_table_of_kinds_is_current() -> None:
    assert VOCABULARY.read_text(encoding="utf-8") == document.document(), (
        "renew it: python -m app.case.vocabulary.document > app/case/vocabulary/VOCABULARY.md"
    )


def test_the_table_of_kinds_has_one_row_for_each_with_its_fields() -> None:
    rows = [line for line in document.document().splitlines() if line.startswith("| `")]
    assert [row.split("`")[1] for row in rows] == [kind for family in KINDS_BY_FAMILY.values() for kind in family]
    for row in rows:
        kind = row.split("`")[1]
        assert all(f"`{field}`" in row for field in fields_of(kind) - {"note"}), kind
        assert row.count(" | ") == 4


@pytest.mark.parametrize(
    ("kind", "part"),
    [
        ("weight.set", "**`kg`** figure [kg]"),
        ("kit.staged", "**`tray`** clean / soiled / door"),
        ("kit.staged", "`missing` list of texts"),
        ("o2.check", "`flow` figure or text [L/min]"),
        ("cuff.down", "| none |"),
        ("tap.fix", "`set_<field>`"),
        ("role.assign", "AO AA"),
    ],
)
def test_a_row_says_what_must_be_given_in_which_form_and_unit(kind: str, part: str) -> None:
    (row,) = [line for line in document.document().splitlines() if line.startswith(f"| `{kind}`")]
    assert part in row


def test_every_unit_belongs_to_a_field_that_some_kind_has() -> None:
    assert set(UNITS) <= {field for kind in KINDS for field in fields_of(kind)}
