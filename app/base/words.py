"""Renews the English catalogue: `python -m app.base.words`. English texts are the message ids.

Collects every text marked with `_`, `N_`, `ngettext` or `{% trans %}` in `app/` and `templates/`.
"""

from __future__ import annotations

import sys
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import write_po

from app.base.paths import data
from app.base.text import DEFAULT, DOMAIN, FOLDER

_KEYWORDS = {"_": None, "N_": None, "gettext": None, "ngettext": (1, 2)}


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
    return found


def text() -> str:
    """The catalogue as a .po file, without line numbers so that it changes only when a text does."""
    out = BytesIO()
    write_po(out, catalogue(), omit_header=False, sort_output=True, no_location=True, width=118)
    lines = out.getvalue().decode().splitlines(keepends=True)
    return "".join(line for line in lines if "POT-Creation-Date" not in line and "PO-Revision-Date" not in line)


if __name__ == "__main__":
    target = FOLDER / DEFAULT / "LC_MESSAGES" / f"{DOMAIN}.po"
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_text(text(), "utf-8")
    sys.stderr.write(f"{len(catalogue())} texts\n")
