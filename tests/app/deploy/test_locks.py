"""The lock files: complete, with hashes, and usable from any mirror because they name no host."""

import json
import re
from pathlib import Path

import pytest

PYTHON_LOCKS = ("requirements.lock", "requirements-dev.lock", "deploy/node.lock")
PIN = re.compile(r"^([A-Za-z0-9._-]+)==(\S+)", re.MULTILINE)


def blocks(lock: Path) -> dict[str, str]:
    """Requirement line (with its marker) -> the lines of hashes that follow it."""
    parts = re.split(r"^(?=\S)", lock.read_text(encoding="utf-8"), flags=re.MULTILINE)
    heads = (part.partition("\\\n") for part in parts if PIN.match(part))
    return {head.strip(): hashes for head, _, hashes in heads}


@pytest.mark.parametrize("name", [*PYTHON_LOCKS, "package.json", "package-lock.json", ".npmrc"])
def test_a_lock_file_names_no_address(checkout: Path, name: str) -> None:
    text = (checkout / name).read_text(encoding="utf-8")
    assert "://" not in text
    assert "resolved" not in text.replace("omit-lockfile-registry-resolved=true", "")


@pytest.mark.parametrize("name", PYTHON_LOCKS)
def test_every_python_package_is_pinned_with_hashes(checkout: Path, name: str) -> None:
    found = blocks(checkout / name)
    assert found
    assert [head for head, hashes in found.items() if "--hash=sha256:" not in hashes] == []


def test_the_development_lock_holds_every_pin_of_the_other(checkout: Path) -> None:
    # set_up.py relies on it: a .venv made for the tests is taken as good for running.
    wanted = blocks(checkout / "requirements.lock")
    held = blocks(checkout / "requirements-dev.lock")
    assert {head: held.get(head) for head in wanted} == wanted


def test_the_wheelhouse_finds_the_postgresql_driver_in_the_development_lock(checkout: Path) -> None:
    names = {match[1] for head in blocks(checkout / "requirements-dev.lock") if (match := PIN.match(head))}
    assert {"psycopg", "psycopg-binary"} <= names


def test_every_npm_package_is_locked_at_the_version_asked_for_and_has_a_hash(checkout: Path) -> None:
    asked = json.loads((checkout / "package.json").read_text(encoding="utf-8"))["dependencies"]
    locked = json.loads((checkout / "package-lock.json").read_text(encoding="utf-8"))["packages"]
    packages = {name.removeprefix("node_modules/"): lock for name, lock in locked.items() if name}
    assert {name: lock["version"] for name, lock in packages.items()} == asked
    assert [name for name, lock in packages.items() if not lock["integrity"].startswith("sha512-")] == []
