"""The last line of the test run is the number of tests, and it is red when anything was left out."""

from pathlib import Path
from types import ModuleType

import pytest

REPORT = '<testsuites><testsuite name="a" tests="{}" failures="{}" errors="{}" skipped="{}"/></testsuites>'


def last_line(
    count_tests: ModuleType, capsys: pytest.CaptureFixture[str], folder: Path, report: str, failed_checks: str = ""
) -> tuple[int, list[str]]:
    (folder / "report.xml").write_text(report)
    status = count_tests.main([str(folder / "report.xml"), failed_checks])
    return status, capsys.readouterr().out.splitlines()


def test_all_green(count_tests: ModuleType, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert last_line(count_tests, capsys, tmp_path, REPORT.format(12, 0, 0, 0)) == (0, ["12 passed, 0 failed"])


def test_failures_and_broken_fixtures_are_counted_as_failed(
    count_tests: ModuleType, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    assert last_line(count_tests, capsys, tmp_path, REPORT.format(12, 2, 1, 0)) == (1, ["9 passed, 3 failed"])


def test_a_skipped_test_is_a_failure(
    count_tests: ModuleType, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    status, lines = last_line(count_tests, capsys, tmp_path, REPORT.format(12, 0, 0, 1))
    assert status == 1
    assert lines[-1] == "11 passed, 0 failed, 1 skipped"


def test_a_failed_check_is_named_though_every_test_passed(
    count_tests: ModuleType, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    status, lines = last_line(count_tests, capsys, tmp_path, REPORT.format(12, 0, 0, 0), " mypy, import layers,")
    assert status == 1
    assert lines == ["These did not hold: mypy, import layers.", "12 passed, 0 failed"]


@pytest.mark.parametrize("report", ["", "<testsuites/>", REPORT.format(0, 0, 0, 0)])
def test_a_run_without_tests_is_red(
    count_tests: ModuleType, capsys: pytest.CaptureFixture[str], tmp_path: Path, report: str
) -> None:
    assert last_line(count_tests, capsys, tmp_path, report) == (1, ["No test ran.", "0 passed, 0 failed"])
