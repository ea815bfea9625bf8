"""A department's file to break: the built-in intubation of an adult, with texts replaced."""

from __future__ import annotations

from collections.abc import Callable
from importlib import resources

import pytest

from app.protocol.check import check
from app.protocol.library import shared
from app.protocol.positions import Mistake
from app.protocol.values import Protocol

FILE = "own.yaml"


@pytest.fixture(scope="session")
def adult_text() -> str:
    """The built-in intubation of an adult, as its file has it."""
    return (resources.files("app.protocol") / "library" / "intubation-adult.yaml").read_text("utf-8")


@pytest.fixture
def checked(adult_text: str) -> Callable[..., tuple[Protocol | None, tuple[Mistake, ...]]]:
    """Checks the adult's file after replacing texts and adding lines at the end."""

    def run(*changes: tuple[str, str], more: str = "") -> tuple[Protocol | None, tuple[Mistake, ...]]:
        text = adult_text
        for old, new in changes:
            assert text.count(old) >= 1, f"the file no longer holds {old!r}"
            text = text.replace(old, new, 1)
        return check(text + more, FILE, shared())

    return run
