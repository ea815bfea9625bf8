"""Makes .venv from a lock file and fetches the static files; does nothing when both are right.

Standard library only, and called by run.sh, test.sh and wheelhouse.sh with a bare Python:

    python deploy/set_up.py requirements.lock               make it so
    python deploy/set_up.py --check requirements.lock       exit status 0 when nothing is to be done; no network, quick

What it says goes to standard error: standard output belongs to the command that is started afterwards.

Two first starts at once are safe: one sets up, the other waits for it. The wait is a kernel lock on an open file, not a
file that is there or not, so a set-up that was killed leaves nothing that somebody must remove. A half-made .venv is
known by its marker and made anew; one that somebody else made by hand is installed into, not thrown away.
"""

import argparse
import fcntl
import hashlib
import os
import platform
import shutil
import subprocess
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path

import fetch_vendor

ROOT = Path(__file__).resolve().parent.parent
RUN_LOCK = "requirements.lock"
DEV_LOCK = "requirements-dev.lock"
# The development lock holds every pin of the other (a test says so): who has installed it has both.
INCLUDED = {RUN_LOCK: (RUN_LOCK,), DEV_LOCK: (DEV_LOCK, RUN_LOCK)}
FROM_NETWORK = " (it takes the network, or a wheelhouse/ made where there is one: deploy/wheelhouse.sh)"
FROM_WHEELHOUSE = " from wheelhouse/ (build it anew with deploy/wheelhouse.sh, or take it away to use the network)"


class SetUpError(Exception):
    """What is missing, as one sentence for the person who started it."""


def say(words: str) -> None:
    print(f"doorside: {words}", file=sys.stderr, flush=True)


def mark(root: Path, lock: str, version: str) -> str:
    """One line of the stamp: lock file, hash of its content and the Python version it was installed for."""
    try:
        content = (root / lock).read_bytes()
    except OSError as error:
        raise SetUpError(f"{lock} cannot be read ({error.strerror}); this is not a whole checkout.") from error
    return f"{lock} {hashlib.sha256(content).hexdigest()} {version}"


def stamp_file(root: Path) -> Path:
    return root / ".venv" / ".doorside-stamp"


def marker_file(root: Path) -> Path:
    return root / ".venv" / ".doorside-unfinished"


def is_installed(root: Path, lock: str, version: str) -> bool:
    try:
        stamp = stamp_file(root).read_text(encoding="utf-8").splitlines()
    except OSError:
        return False
    return mark(root, lock, version) in stamp and not marker_file(root).exists()


def is_ready(root: Path, lock: str, version: str) -> bool:
    """Packages as the lock says and every static file as recorded."""
    if not is_installed(root, lock, version):
        return False
    return not fetch_vendor.wrong_files(root, fetch_vendor.expected_hashes(root))


def python_of(root: Path) -> Path:
    return root / ".venv" / "bin" / "python"


def usable_version(root: Path) -> str | None:
    """Version of the Python of .venv; None when there is none that runs, has pip, is new enough and was finished."""
    if marker_file(root).exists():
        return None
    ask = "import pip, platform, sys; print(platform.python_version()); sys.exit(sys.version_info < (3, 11))"
    try:
        answer = subprocess.run([python_of(root), "-I", "-c", ask], capture_output=True, text=True, check=False)
    except OSError:
        return None
    return answer.stdout.strip() if answer.returncode == 0 else None


@contextmanager
def only_one(root: Path) -> Iterator[int]:
    """Holds the set-up's lock; a child inherits the descriptor given, so that it holds as long as the child works."""
    folder = root / ".doorside"
    try:
        folder.mkdir(exist_ok=True)
        descriptor = os.open(folder / "set-up.lock", os.O_RDWR | os.O_CREAT, 0o644)
    except OSError as error:
        raise SetUpError(f"{root} cannot be written ({error.strerror}).") from error
    try:
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            say("another start is setting up this checkout; waiting for it")
            fcntl.flock(descriptor, fcntl.LOCK_EX)
        yield descriptor
    finally:
        os.close(descriptor)


def make_venv(root: Path, descriptor: int) -> str:
    """A new .venv with its marker; gives the version of its Python."""
    version = platform.python_version()
    say(f"making .venv with Python {version}")
    shutil.rmtree(root / ".venv", ignore_errors=True)
    marker_file(root).parent.mkdir(exist_ok=True)
    marker_file(root).touch()
    run([sys.executable, "-m", "venv", str(root / ".venv")], "the virtual environment could not be made", descriptor)
    return version


def pip_arguments(root: Path, lock: str, wheelhouse: Path | None) -> list[str]:
    """Only what the lock names, only with its hashes; from the wheelhouse alone where there is one."""
    source = ["--no-index", "--find-links", str(wheelhouse)] if wheelhouse else []
    # -I: what the caller's PYTHONPATH holds must not pass for installed.
    always = ["-q", "--disable-pip-version-check", "--no-input", "--no-deps", "--require-hashes"]
    return ["-I", "-m", "pip", "install", *always, *source, "-r", str(root / lock)]


def run(command: list[str], failure: str, descriptor: int) -> None:
    """Runs a step quietly; SetUpError carries what it complained of."""
    done = subprocess.run(
        command, stdin=subprocess.DEVNULL, capture_output=True, text=True, pass_fds=(descriptor,), check=False
    )
    if done.returncode:
        raise SetUpError(f"{failure}: {fetch_vendor.last_words(done.stderr or done.stdout)}")


def wheelhouse_of(root: Path, lock: str) -> Path | None:
    """The wheelhouse that lies in the checkout; it holds what it takes to run, not what it takes to develop."""
    folder = root / "wheelhouse"
    return folder if lock == RUN_LOCK and folder.is_dir() else None


def install(root: Path, lock: str, descriptor: int) -> None:
    """Packages and static files side by side: two downloads that know nothing of each other."""
    wheelhouse = wheelhouse_of(root, lock)
    fetch_vendor.expected_hashes(root)  # a list that does not fit is said before a minute's work, not after it
    version = usable_version(root) or make_venv(root, descriptor)
    python = str(python_of(root))
    with ThreadPoolExecutor(max_workers=1) as beside:
        vendor = beside.submit(fetch_vendor.fetch, root, wheelhouse=wheelhouse, python=python)
        if not is_installed(root, lock, version):
            marker_file(root).touch()
            say(f"installing the packages of {lock}" + (" from wheelhouse/" if wheelhouse else ""))
            failure = f"{lock} could not be installed{FROM_WHEELHOUSE if wheelhouse else FROM_NETWORK}"
            run([python, *pip_arguments(root, lock, wheelhouse)], failure, descriptor)
            marks = "".join(f"{mark(root, name, version)}\n" for name in INCLUDED[lock])
            stamp_file(root).write_text(marks, encoding="utf-8")
            marker_file(root).unlink()
        if not vendor.done():
            say("fetching the static files")
        vendor.result()


def set_up(root: Path, lock: str) -> None:
    """Raises SetUpError or VendorError, each one sentence. Safe to call again after any failure."""
    with only_one(root) as descriptor:
        version = usable_version(root)
        if version is not None and is_ready(root, lock, version):
            return  # the one that was waited for has done it
        install(root, lock, descriptor)


def main(arguments: list[str] | None = None, root: Path = ROOT) -> int:
    parser = argparse.ArgumentParser(prog="set_up.py", description="Makes .venv and fetches the static files.")
    parser.add_argument("lock", choices=sorted(INCLUDED))
    parser.add_argument("--check", action="store_true", help="only look whether anything is to be done")
    chosen = parser.parse_args(arguments)
    try:
        if chosen.check:
            return 0 if is_ready(root, chosen.lock, platform.python_version()) else 1
        set_up(root, chosen.lock)
    except (SetUpError, fetch_vendor.VendorError) as error:
        say(str(error))
        return 1
    except KeyboardInterrupt:
        say("stopped; the next start begins where this one was")
        return 130
    return 0


if __name__ == "__main__":
    sys.exit(main())
