"""The stored examples of `tests/golden/entries`, read as the journal reads its rows."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from app.journal.entry import TAP_FIELDS, Entry, Tap

FOLDER = Path(__file__).parents[2] / "golden" / "entries"
FILES = sorted(FOLDER.glob("*.json"))


def stored(path: Path) -> dict[str, Any]:
    """The fields of one stored entry, as they stand in its file."""
    found: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return found


def entry(path: Path) -> Entry:
    """One stored entry."""
    given = stored(path)
    tap = Tap(**{name: given.pop(name) for name in TAP_FIELDS})
    return Entry(tap, **given)
