"""Words in the reader's language: gettext catalogues, read from their .po files once a language.

English texts are the message ids, so the English catalogue only lists them. A text that a catalogue lacks (a
department's own wording, say) comes out as it is.
"""

from __future__ import annotations

import io
from functools import cache
from pathlib import Path

from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po
from babel.support import NullTranslations, Translations

from app.base.messages import Filled

DOMAIN = "doorside"
FOLDER = Path(__file__).parent / "locale"
DEFAULT = "en"


class _Words(Translations):
    """A catalogue that says nothing for nothing (gettext would give its own header), and fills in sentences."""

    def gettext(self, message: str) -> str:
        if isinstance(message, Filled):
            places = {name: self.gettext(value) for name, value in message.places.items()}
            return str(super().gettext(message.message)).format(**places)
        return str(super().gettext(message)) if message else ""

    ugettext = gettext  # templates ask under this name where it is there


def languages() -> tuple[str, ...]:
    """Codes of the languages that have a catalogue."""
    return tuple(sorted(path.name for path in FOLDER.iterdir() if (path / "LC_MESSAGES" / f"{DOMAIN}.po").is_file()))


@cache
def translations(language: str) -> NullTranslations:
    """The catalogue of a language; the message ids themselves when there is none."""
    path = FOLDER / language / "LC_MESSAGES" / f"{DOMAIN}.po"
    if not path.is_file():
        return NullTranslations()
    with path.open("rb") as source:
        catalogue = read_po(source, locale=language, domain=DOMAIN)
    compiled = io.BytesIO()
    write_mo(compiled, catalogue)
    compiled.seek(0)
    return _Words(compiled, domain=DOMAIN)
