"""The last line of test.sh: how many tests passed and failed, and which checks did not hold.

    python deploy/count_tests.py REPORT FAILED_CHECKS

REPORT is pytest's JUnit file. Exit status 1 when a check failed, a test failed or was skipped, or no test ran.
"""

import sys
from pathlib import Path
from xml.etree import ElementTree


def counts(report: str) -> tuple[int, int, int]:
    """(passed, failed, skipped) of a JUnit report; an error in a fixture is a failure, an empty report all noughts."""
    if not report.strip():
        return 0, 0, 0
    suites = list(ElementTree.fromstring(report).iter("testsuite"))
    keys = ("tests", "failures", "errors", "skipped")
    tests, failures, errors, skipped = (sum(int(suite.get(key, "0")) for suite in suites) for key in keys)
    return tests - failures - errors - skipped, failures + errors, skipped


def closing(passed: int, failed: int, skipped: int, failed_checks: str) -> tuple[list[str], int]:
    """The lines to print and the exit status."""
    lines = []
    names = failed_checks.strip().rstrip(",")
    if names:
        lines.append(f"These did not hold: {names}.")
    if skipped:
        lines.append("A skipped test is a failure here: what is not run is not known to work.")
    if not passed + failed:
        lines.append("No test ran.")
    lines.append(f"{passed} passed, {failed} failed" + (f", {skipped} skipped" if skipped else ""))
    return lines, 1 if len(lines) > 1 or failed else 0


def main(arguments: list[str]) -> int:
    report, failed_checks = arguments
    lines, status = closing(*counts(Path(report).read_text(encoding="utf-8")), failed_checks)
    print("\n".join(lines))
    return status


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
