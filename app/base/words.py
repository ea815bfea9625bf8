"""Renews the catalogues: `python -m app.base.words`. English texts are the message ids.

Collects every text marked with `_`, `N_`, `ngettext` or `{% trans %}` in `app/` and `templates/`, and the words of the
protocols that come with the product. The English catalogue lists them. Every other one keeps the translations that are
still wanted, loses those that are not, and gets what is new with an empty place; `unfinished` finds those places.
"""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import yaml
from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po, write_po

from app.base import errors
from app.base.paths import data
from app.base.text import DEFAULT, DOMAIN, FOLDER, languages

_KEYWORDS = {"_": None, "N_": None, "gettext": None, "ngettext": (1, 2)}
_PROTOCOL_WORDS = frozenset(
    (
        "title", "label", "text", "item", "kept", "name", "ask_for", "choices", "comes", "does", "if_missed", "in_room",
        "limit", "next_step", "offer", "runner_does", "sign_offs", "sizes", "stands", "step", "trigger", "who_comes",
        "worn_for",
    )
)  # fmt: skip
"""Keys of a protocol file whose texts pages show. Sources stay as they are: they name publications."""
_DRUG_WORDS = frozenset(("name", "label", "onset", "cautions", "use", "signed_by"))
"""The same of the drug list. Units stay as they are: they are never translated."""
_PLACES = re.compile(r"%\(\w+\)[sd]|%[sd]|\{\w*\}")


def catalogue() -> Catalog:
    """Every text of the product, in order of its place in the code."""
    found = Catalog(
        locale=DEFAULT, domain=DOMAIN, project="Doorside", header_comment="# English: the texts themselves."
    )
    app = Path(__file__).resolve().parent.parent
    for root, method in ((app, "python"), (data("templates"), "jinja2")):
        pattern = "**.py" if method == "python" else "**.html"
        rows = extract_from_dir(
            root,
            [(pattern, method)],
            options_map={pattern: {"newstyle_gettext": "true", "trimmed": "true"}},
            keywords=_KEYWORDS,
        )
        for _path, _line, message, _comments, context in sorted(rows, key=lambda row: (row[0], row[1])):
            found.add(message, context=context)
    for room in ("web", "live", "stations", "people"):
        for path in sorted((app / room).rglob("*.py")):
            for words in _refusals(path.read_text("utf-8")):
                found.add(words)
    for path in sorted((app / "protocol" / "library").rglob("*.yaml")):
        for words in _protocol_words(yaml.safe_load(path.read_text("utf-8")), ""):
            found.add(words)
    drugs = yaml.safe_load((app / "bedside" / "data" / "formulary.yaml").read_text("utf-8"))
    for words in _protocol_words(drugs, "", _DRUG_WORDS):
        found.add(words)
    return found


def _refusals(source: str) -> Iterator[str]:
    """The sentences of refusals that people read: what happened, what holds, what to do. Figures stay out."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and hasattr(errors, node.func.id):
            for words in (*node.args, *(keyword.value for keyword in node.keywords)):
                if isinstance(words, ast.Constant) and isinstance(words.value, str) and words.value:
                    yield words.value


def _protocol_words(value: Any, key: str, wanted: frozenset[str] = _PROTOCOL_WORDS) -> Iterator[str]:
    if isinstance(value, dict):
        for name, inner in value.items():
            if name == "body":  # what a milestone says as it stands: the record shows it
                yield from (word for word in inner.values() if isinstance(word, str) and re.search(r"[a-z]", word))
            else:
                yield from _protocol_words(inner, str(name), wanted)
    elif isinstance(value, list):
        for inner in value:
            yield from _protocol_words(inner, key, wanted)
    elif isinstance(value, str) and key in wanted and re.search(r"[a-z]", value):
        yield value


def file_of(language: str) -> Path:
    """Where the catalogue of a language lies."""
    return FOLDER / language / "LC_MESSAGES" / f"{DOMAIN}.po"


def text(language: str = DEFAULT) -> str:
    """A catalogue as it should be now, as a .po file; without line numbers: it changes only when a text does."""
    found = catalogue()
    if language != DEFAULT:
        found = _merged(found, language)
    out = BytesIO()
    write_po(out, found, omit_header=False, sort_output=True, no_location=True, width=118)
    lines = out.getvalue().decode().splitlines(keepends=True)
    return "".join(line for line in lines if "POT-Creation-Date" not in line and "PO-Revision-Date" not in line)


def _merged(wanted: Catalog, language: str) -> Catalog:
    """The texts that are wanted, with what a language says of them so far."""
    said = read(language)
    merged = Catalog(
        locale=language, domain=DOMAIN, project="Doorside", header_comment=f"# {said.locale.english_name}.", fuzzy=False
    )
    for message in wanted:
        if message.id:
            known = said.get(message.id, message.context)
            merged.add(message.id, known.string if known else None, context=message.context)
    return merged


def read(language: str) -> Catalog:
    """The catalogue of a language as it lies there; an empty one when there is none yet."""
    if not file_of(language).is_file():
        return Catalog(locale=language, domain=DOMAIN)
    with file_of(language).open("rb") as source:
        return read_po(source, locale=language, domain=DOMAIN)


def unfinished(language: str) -> list[str]:
    """What is wrong in a language's catalogue: texts missing, fuzzy, or with other places to fill than the English."""
    said, wrong = read(language), []
    for message in catalogue():
        if not message.id:
            continue
        ids, known = _all(message.id), said.get(message.id, message.context)
        strings = () if known is None else _all(known.string)
        if known is None or not strings or not all(strings):
            wrong.append(f"missing: {ids[0]}")
        elif known.fuzzy:
            wrong.append(f"fuzzy: {ids[0]}")
        elif any(sorted(_PLACES.findall(one)) != sorted(_PLACES.findall(ids[-1])) for one in strings):
            wrong.append(f"other places to fill: {ids[0]}")
    return wrong


def _all(text: Any) -> tuple[str, ...]:
    """A message's text, or the texts of its plural forms."""
    return tuple(text) if isinstance(text, tuple | list) else (str(text or ""),)


if __name__ == "__main__":
    for code in languages():
        file_of(code).write_text(text(code), "utf-8")
        sys.stderr.write(f"{code}: {len(catalogue())} texts, {0 if code == DEFAULT else len(unfinished(code))} to do\n")
