"""Every calculation of the product, and the published check pairs that stand beside these tests."""

import json
from importlib import import_module
from pathlib import Path

from app.base.calculation import CATALOGUE
from app.cli.calc import MODULES

for module in MODULES:
    import_module(module)

CHECKS = Path(__file__).parent / "checks"
NAMES = tuple(CATALOGUE)


def pairs(*topics):
    """Rows of the named check files, or of all: name, inputs, value and/or class, tol, mark, source."""
    files = [CHECKS / f"{topic}.jsonl" for topic in topics] or sorted(CHECKS.glob("*.jsonl"))
    return [json.loads(line) for file in files for line in file.read_text("utf-8").splitlines()]


def label(row):
    inputs = " ".join(f"{name}={value}" for name, value in row["inputs"].items())
    return f"{row['name']} {inputs}"[:110]


__all__ = ["CATALOGUE", "NAMES", "label", "pairs"]
