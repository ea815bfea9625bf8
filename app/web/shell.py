"""The shell: the styles, scripts and fonts that every page is made of, and the worker that keeps them on the tablet.

A version is a digest of their contents, so that a new version replaces the old one whole and two servers of the same
version agree. Only the newest is kept.
"""

from __future__ import annotations

import json
import time
from dataclasses import dataclass
from functools import lru_cache
from hashlib import sha256
from pathlib import Path

from app.base.paths import data
from app.web.security import HEADERS

KINDS = (".css", ".js", ".svg", ".woff2")
LEFT_OUT = ("icons", "licences", "readme")
"""Folders whose files no page loads: icons stand inside the pages."""
WORKER = "sw.js"
LIVE = ("inside", "outside", "board", "wall", "diagnostics")
"""First part of the addresses whose last picture a tablet keeps. Nothing of the desk is among them."""
LOOKED_S = 2
"""The files are looked at again after so many seconds, when somebody asks: they change while somebody works on them."""


@dataclass(frozen=True, slots=True)
class Shell:
    """version: a digest; files: addresses; worker: the script, with what it must know put before it."""

    version: str
    files: tuple[str, ...]
    worker: str


def shell() -> Shell:
    """The shell as its files are now, or were a moment ago."""
    return _now(int(time.monotonic() // LOOKED_S))


@lru_cache(maxsize=1)
def _now(moment: int) -> Shell:
    top = data("static")
    files = tuple(path for path in sorted(top.rglob("*")) if _belongs(path.relative_to(top)) and path.is_file())
    return _read(top, tuple((path, path.stat().st_mtime_ns, path.stat().st_size) for path in files))


def _belongs(path: Path) -> bool:
    return path.suffix in KINDS and not set(path.parts[:-1]) & set(LEFT_OUT)


@lru_cache(maxsize=1)
def _read(top: Path, found: tuple[tuple[Path, int, int], ...]) -> Shell:
    digest = sha256()
    for path, _, _ in found:
        digest.update(path.relative_to(top).as_posix().encode() + b"\0" + sha256(path.read_bytes()).digest())
    version = f"shell-{digest.hexdigest()[:16]}"
    files = tuple(f"/static/{path.relative_to(top).as_posix()}" for path, _, _ in found if path.name != WORKER)
    headers = {name.decode(): value.decode() for name, value in HEADERS} | {"content-type": "text/html; charset=utf-8"}
    told = json.dumps({"version": version, "files": files, "live": LIVE, "headers": headers}, separators=(",", ":"))
    return Shell(version, files, f"const SHELL = {told};\n{(top / 'js' / WORKER).read_text('utf-8')}")
