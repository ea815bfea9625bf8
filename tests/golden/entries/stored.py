"""The stored examples beside this file: one of every kind and version, as a journal held it. Never edit one."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from app.journal.entry import TAP_FIELDS, Entry, Tap

FOLDER = Path(__file__).parent


def paths() -> list[Path]:
    """Every stored example."""
    return sorted(FOLDER.glob("*.json"))


def envelope(path: Path) -> dict[str, Any]:
    """An example's fields as stored."""
    return dict(json.loads(path.read_text(encoding="utf-8")))


def entry(stored: dict[str, Any]) -> Entry:
    """The entry that stored fields mean."""
    own = {name: value for name, value in stored.items() if name not in TAP_FIELDS}
    return Entry(Tap(**{name: value for name, value in stored.items() if name in TAP_FIELDS}), **own)
