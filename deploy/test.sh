#!/bin/sh
# All tests and checks, from nothing:
#
#     sh deploy/test.sh                     everything; the last line has the number of tests
#     sh deploy/test.sh -k journal          words after it: pytest with them, and nothing else
#
# TEST_WORKERS is how many processes run the tests (3: browsers and servers wait a lot; 0 runs them in one). Every check
# is run, also after one that failed, and those that failed are named at the end. A skipped test counts as a failure
# here: what is not run on this machine is not known to work.
set -eu

here=$(CDPATH='' cd -- "$(dirname -- "$0")/.." && pwd -P)
. "$here/deploy/find_python.sh"
find_python || exit 1
"$PY" -E "$here/deploy/set_up.py" requirements-dev.lock || exit $?
cd "$here"
python=$here/.venv/bin/python

# find_or_install NAME COMMAND PACKAGE…: what the browser tests need and Debian has.
find_or_install() {
    name=$1
    command=$2
    shift 2
    command -v "$command" >/dev/null 2>&1 && return 0
    if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
        echo "doorside: installing $name for the browser tests" >&2
        export DEBIAN_FRONTEND=noninteractive
        if apt-get update -qq >&2 && apt-get install -y -qq --no-install-recommends "$@" >&2; then return 0; fi
        echo "doorside: $name could not be installed with apt-get; the browser tests need it." >&2
        return 1
    fi
    echo "doorside: the browser tests need $name (on Debian, as root: apt-get install $*)." >&2
    return 1
}

# certutil puts a ward's authority into a browser's own store; openssl has the last word on certificates.
find_or_install Chromium chromium chromium || exit 1
find_or_install certutil certutil libnss3-tools || exit 1
find_or_install openssl openssl openssl || exit 1
find_or_install "WebKitGTK's driver" WebKitWebDriver webkit2gtk-driver || exit 1
find_or_install "a screen without a screen" xvfb-run xvfb xauth || exit 1

if [ $# -gt 0 ]; then
    exec "$python" -m pytest "$@"
fi

report=$(mktemp)
trap 'rm -f "$report"' EXIT
trap 'exit 130' INT TERM
failed=

check() {
    name=$1
    shift
    started=$(date +%s)
    echo "== $name"
    if "$@"; then :; else failed="$failed $name,"; fi
    echo "   $(($(date +%s) - started)) s"
}

check "ruff check" "$python" -m ruff check .
check "ruff format" "$python" -m ruff format --check .
check "mypy" "$python" -m mypy
check "mypy deploy" "$python" -m mypy --strict deploy
check "import layers" "$python" -c 'from importlinter.cli import lint_imports_command as lint; lint()'
# Names left out: J004 and J018 want url_for, H030 and H031 descriptions for search engines, H006 sizes on images.
check "templates" "$python" -m djlint templates --lint --quiet --profile=jinja --ignore=J004,J018,H006,H020,H030,H031
check "dependencies" "$python" -m deptry app
check "tests" "$python" -m pytest -n "${TEST_WORKERS:-3}" --junitxml="$report"

# The closing line: always the last, whatever pytest printed before it.
"$python" -E deploy/count_tests.py "$report" "$failed"
