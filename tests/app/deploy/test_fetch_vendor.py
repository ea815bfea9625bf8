"""Third-party static files: what is served, what is trusted, and what is said when it cannot be had."""

import os
import zipfile
from pathlib import Path
from types import ModuleType

import pytest

HTMX = "htmx.min.js"


@pytest.fixture
def fake_npm(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An npm ahead of the real one: says it is version 10 and, asked to install, runs the script the test wrote."""
    folder = tmp_path / "bin"
    folder.mkdir()
    (tmp_path / "ci.sh").write_text("echo 'npm error network: nothing answered' >&2\nexit 1\n")
    npm = folder / "npm"
    npm.write_text(f'#!/bin/sh\n[ "$1" = --version ] && {{ echo 10.8.2; exit 0; }}\n. "{tmp_path}/ci.sh"\n')
    npm.chmod(0o755)
    monkeypatch.setenv("PATH", str(folder), prepend=os.pathsep)
    return tmp_path / "ci.sh"


def serves_from(fake_npm: Path, root: Path, fetch_vendor: ModuleType) -> Path:
    """Makes the fake npm install what stands in `root` now; gives the folder that it copies as node_modules."""
    packages = fake_npm.parent / "packages"
    for name, path in fetch_vendor.served_files(root).items():
        (packages / path).parent.mkdir(parents=True, exist_ok=True)
        (packages / path).write_bytes((root / "static" / "vendor" / name).read_bytes())
    fake_npm.write_text(f'echo run >>"{fake_npm.parent}/runs"\ncp -r "{packages}" node_modules\n')
    return packages


def test_the_files_in_place_are_those_that_were_recorded(checkout: Path, fetch_vendor: ModuleType) -> None:
    hashes = fetch_vendor.expected_hashes(checkout)
    assert len(hashes) > 50
    assert fetch_vendor.wrong_files(checkout, hashes) == []


def test_every_icon_that_is_asked_for_is_served(checkout: Path, fetch_vendor: ModuleType) -> None:
    names = fetch_vendor.icon_names((checkout / "deploy" / "icons.txt").read_text(encoding="utf-8"))
    assert names == sorted(set(names))
    for name in names:
        assert b"<svg" in (checkout / "static" / "vendor" / "icons" / f"{name}.svg").read_bytes()


def test_every_package_keeps_its_licence_beside_it(checkout: Path) -> None:
    folder = checkout / "static" / "vendor" / "licences"
    assert sorted(path.stem for path in folder.glob("*.txt")) == [
        "atkinson-hyperlegible-next",
        "bootstrap",
        "bootstrap-icons",
        "htmx",
        "idiomorph",
    ]


def test_nothing_is_fetched_when_all_is_in_place(copy: Path, fetch_vendor: ModuleType, fake_npm: Path) -> None:
    assert fetch_vendor.fetch(copy) is False


@pytest.mark.usefixtures("fake_npm")
def test_a_failed_install_is_said_in_one_sentence(
    copy: Path, fetch_vendor: ModuleType, capsys: pytest.CaptureFixture[str]
) -> None:
    (copy / "static" / "vendor" / HTMX).unlink()
    assert fetch_vendor.main([], root=copy) == 1
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err == ("doorside: the static files could not be fetched: npm error network: nothing answered\n")


def test_a_missing_or_altered_file_is_fetched_again_and_the_second_time_nothing_is_done(
    copy: Path, fetch_vendor: ModuleType, fake_npm: Path
) -> None:
    serves_from(fake_npm, copy, fetch_vendor)
    vendor = copy / "static" / "vendor"
    whole = (vendor / HTMX).read_bytes()
    (vendor / HTMX).write_bytes(b"altered")
    (vendor / "bootstrap.min.css").unlink()
    assert fetch_vendor.main(["--check"], root=copy) == 1
    assert fetch_vendor.fetch(copy) is True
    assert fetch_vendor.fetch(copy) is False
    assert (vendor / HTMX).read_bytes() == whole
    assert fetch_vendor.main(["--check"], root=copy) == 0
    assert (fake_npm.parent / "runs").read_text().splitlines() == ["run"]


def test_when_one_file_is_not_what_was_recorded_none_is_put_in_place(
    copy: Path, fetch_vendor: ModuleType, fake_npm: Path
) -> None:
    packages = serves_from(fake_npm, copy, fetch_vendor)
    (packages / "htmx.org/dist/htmx.min.js").write_bytes(b"somebody else's")
    vendor = copy / "static" / "vendor"
    for name in (HTMX, "bootstrap.min.css"):
        (vendor / name).unlink()
    with pytest.raises(
        fetch_vendor.VendorError, match=r"htmx\.min\.js is not the file that .* nothing was put in place"
    ):
        fetch_vendor.fetch(copy)
    assert not (vendor / HTMX).exists()
    assert not (vendor / "bootstrap.min.css").exists()


def test_a_package_that_lacks_a_file_is_named(copy: Path, fetch_vendor: ModuleType, fake_npm: Path) -> None:
    packages = serves_from(fake_npm, copy, fetch_vendor)
    (packages / "htmx.org/dist/htmx.min.js").unlink()
    (copy / "static" / "vendor" / HTMX).unlink()
    with pytest.raises(fetch_vendor.VendorError, match=r"pinned packages hold no htmx\.org/dist/htmx\.min\.js"):
        fetch_vendor.fetch(copy)


def test_an_icon_without_a_recorded_hash_stops_the_set_up(copy: Path, fetch_vendor: ModuleType) -> None:
    with (copy / "deploy" / "icons.txt").open("a") as icons:
        icons.write("alarm\n")
    with pytest.raises(fetch_vendor.VendorError, match=r"icons/alarm\.svg has no recorded hash: run python"):
        fetch_vendor.fetch(copy)


def test_what_is_not_served_any_more_is_removed(copy: Path, fetch_vendor: ModuleType, fake_npm: Path) -> None:
    serves_from(fake_npm, copy, fetch_vendor)
    vendor = copy / "static" / "vendor"
    (vendor / HTMX).unlink()
    (vendor / "icons" / "alarm.svg").write_text("<svg/>")
    (vendor / ".bootstrap.min.css.1").write_text("half")
    os.utime(vendor / ".bootstrap.min.css.1", (0, 0))
    (vendor / ".htmx.min.js.2").write_text("another set-up's, a moment ago")
    fetch_vendor.fetch(copy)
    assert not (vendor / "icons" / "alarm.svg").exists()
    assert not (vendor / ".bootstrap.min.css.1").exists()
    assert (vendor / ".htmx.min.js.2").exists()


def test_new_hashes_are_recorded_only_when_asked_for(copy: Path, fetch_vendor: ModuleType, fake_npm: Path) -> None:
    packages = serves_from(fake_npm, copy, fetch_vendor)
    (packages / "htmx.org/dist/htmx.min.js").write_bytes(b"the next version")
    assert fetch_vendor.main(["--write-hashes"], root=copy) == 0
    assert fetch_vendor.main(["--check"], root=copy) == 0
    assert (copy / "static" / "vendor" / HTMX).read_bytes() == b"the next version"


@pytest.mark.parametrize(
    ("script", "reason"), [("exit 1", "does not run"), ("echo 6.14.18", "too old"), ("echo nonsense", "no version")]
)
def test_an_npm_that_is_of_no_use_is_passed_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fetch_vendor: ModuleType, script: str, reason: str
) -> None:
    npm = tmp_path / "npm"
    npm.write_text(f"#!/bin/sh\n{script}\n")
    npm.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path))
    assert fetch_vendor.working_npm() is None, reason


def test_without_npm_the_pinned_node_wheel_is_asked_for_with_its_hashes(
    copy: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fetch_vendor: ModuleType
) -> None:
    python = tmp_path / "python"
    python.write_text('#!/bin/sh\necho "ERROR: asked for $*" >&2\nexit 1\n')
    python.chmod(0o755)
    (copy / "static" / "vendor" / HTMX).unlink()
    monkeypatch.setattr(fetch_vendor, "working_npm", lambda: None)
    with pytest.raises(fetch_vendor.VendorError) as refused:
        fetch_vendor.fetch(copy, python=str(python))
    assert "--require-hashes" in str(refused.value)
    assert "deploy/node.lock" in str(refused.value)


def wheel_of(folder: Path, files: dict[str, bytes], fetch_vendor: ModuleType) -> None:
    folder.mkdir()
    with zipfile.ZipFile(folder / "doorside-0.1.0-py3-none-any.whl", "w") as wheel:
        for name, content in files.items():
            wheel.writestr(fetch_vendor.WHEEL_FOLDER + name, content)


@pytest.mark.usefixtures("fake_npm")
def test_a_wheelhouse_is_enough(copy: Path, tmp_path: Path, fetch_vendor: ModuleType) -> None:
    vendor = copy / "static" / "vendor"
    files = {name: (vendor / name).read_bytes() for name in fetch_vendor.served_files(copy)}
    wheel_of(tmp_path / "wheelhouse", files, fetch_vendor)
    for name in files:
        (vendor / name).unlink()
    assert fetch_vendor.fetch(copy, wheelhouse=tmp_path / "wheelhouse") is True
    assert fetch_vendor.main(["--check"], root=copy) == 0


def test_a_wheelhouse_without_the_files_is_said_so(copy: Path, tmp_path: Path, fetch_vendor: ModuleType) -> None:
    (copy / "static" / "vendor" / HTMX).unlink()
    wheel_of(tmp_path / "old", {}, fetch_vendor)
    with pytest.raises(fetch_vendor.VendorError, match=r"does not hold the static files .* build it anew"):
        fetch_vendor.fetch(copy, wheelhouse=tmp_path / "old")
    with pytest.raises(fetch_vendor.VendorError, match="holds no doorside wheel"):
        fetch_vendor.fetch(copy, wheelhouse=tmp_path)


def test_a_list_of_hashes_that_is_missing_or_broken_is_named(copy: Path, fetch_vendor: ModuleType) -> None:
    hashes = copy / "static" / "vendor" / "vendor.sha256"
    hashes.write_text("not a hash\n")
    with pytest.raises(fetch_vendor.VendorError, match="holds a line that is not a sha256 and a name: 'not a hash'"):
        fetch_vendor.fetch(copy)
    hashes.unlink()
    with pytest.raises(fetch_vendor.VendorError, match=r"vendor\.sha256 cannot be read"):
        fetch_vendor.fetch(copy)


@pytest.mark.parametrize(
    ("complaint", "wanted"),
    [
        (
            "WARNING: an error, retrying\nERROR: no matching version of x\nERROR: none",
            "ERROR: no matching version of x",
        ),
        (
            "npm error code ENOTFOUND\nnpm error the name was not found\nnpm error A log",
            "npm error the name was not found",
        ),
        ("npm error code EACCES", "npm error code EACCES"),
        ("Traceback:\n\nOSError: no room left\n", "OSError: no room left"),
        ("", "the package client said nothing"),
    ],
)
def test_of_a_long_complaint_the_line_that_tells_most_is_said(
    fetch_vendor: ModuleType, complaint: str, wanted: str
) -> None:
    assert fetch_vendor.last_words(complaint) == wanted
