"""Published check pairs as test cases: a test that asks for `pair` runs once for each of them.

One that asks for `calculation_name` runs once for each name of the catalogue.

The pairs stand in `checks/*.jsonl`: name, inputs, value and/or class (or texts that the value `contains`), tol, the
source, and its mark (C seen in the source, S second-hand, M from memory, K worked out from the formula).
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from app.base.calculation import CATALOGUE
from app.cli.calc import load

CHECKS = Path(__file__).parent / "checks"
load()


def _pairs() -> list[dict[str, Any]]:
    return [
        json.loads(line) for file in sorted(CHECKS.glob("*.jsonl")) for line in file.read_text("utf-8").splitlines()
    ]


def _label(pair: dict[str, Any]) -> str:
    return f"{pair['name']} {' '.join(f'{name}={value}' for name, value in pair['inputs'].items())}"[:100]


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    if "pair" in metafunc.fixturenames:
        metafunc.parametrize("pair", _pairs(), ids=_label)
    if "calculation_name" in metafunc.fixturenames:
        metafunc.parametrize("calculation_name", sorted(CATALOGUE))


@pytest.fixture(scope="session")
def all_pairs() -> list[dict[str, Any]]:
    return _pairs()


@pytest.fixture(scope="session")
def public_names() -> dict[str, list[str]]:
    """Public name of each calculation -> its inputs, as the product's page of names fixes them."""
    lines = (CHECKS / "public-names.tsv").read_text("utf-8").splitlines()
    return {name: inputs.split() for name, inputs in (line.split("\t") for line in lines)}
