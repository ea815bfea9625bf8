"""Words in the reader's language, and the English catalogue that lists them."""

from pathlib import Path

import pytest
from babel.messages.pofile import read_po

from app.base import text, words
from app.base.text import DEFAULT, DOMAIN, FOLDER, languages, translations

CATALOGUE = FOLDER / DEFAULT / "LC_MESSAGES" / f"{DOMAIN}.po"


def test_the_english_catalogue_lists_every_text_as_it_is_now() -> None:
    assert words.text() == CATALOGUE.read_text("utf-8"), "run `python -m app.base.words`"


def test_english_is_there() -> None:
    assert DEFAULT in languages()


def test_a_text_that_a_catalogue_lacks_comes_out_as_it_is() -> None:
    assert translations(DEFAULT).gettext("0.9 % saline, our own") == "0.9 % saline, our own"
    assert translations("xx").gettext("Next") == "Next"


def test_one_and_many_are_told_apart() -> None:
    english = translations(DEFAULT)
    assert english.ngettext("%(count)s inside", "%(count)s inside", 2) == "%(count)s inside"
    assert english.ngettext("one", "many", 1) == "one"
    assert english.ngettext("one", "many", 2) == "many"


def test_a_catalogue_is_read_once() -> None:
    assert translations(DEFAULT) is translations(DEFAULT)


def test_a_catalogue_in_another_language_is_used(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "de" / "LC_MESSAGES"
    folder.mkdir(parents=True)
    (folder / f"{DOMAIN}.po").write_text(
        'msgid ""\nmsgstr "Content-Type: text/plain; charset=UTF-8"\n\nmsgid "Next"\nmsgstr "Als Nächstes"\n', "utf-8"
    )
    monkeypatch.setattr(text, "FOLDER", tmp_path)
    translations.cache_clear()
    try:
        assert languages() == ("de",)
        assert translations("de").gettext("Next") == "Als Nächstes"
        assert translations("de").gettext("Plan") == "Plan"
    finally:
        translations.cache_clear()


def test_no_english_text_is_translated_away_from_itself() -> None:
    with CATALOGUE.open("rb") as source:
        catalogue = read_po(source, locale=DEFAULT)
    assert {
        message.id: message.string for message in catalogue if message.id and message.string not in ("", ("", ""))
    } == {}
