# Sourced by run.sh, test.sh and wheelhouse.sh, which set $here (the checkout). Sets $PY to a Python 3.11 or newer that
# really runs: a version manager's shim may be on the path and fail, and Debian ships a python3 without ensurepip.
# PYTHON in the environment names the one to take. A wheelhouse serves one version of Python: that one is tried first.

find_python() {
    first=
    if [ -r "$here/wheelhouse/python-version" ]; then first="python$(cat "$here/wheelhouse/python-version")"; fi
    for candidate in ${PYTHON:-$first python3.13 python3.12 python3.11 python3 python3.14 python}; do
        if "$candidate" -c 'import sys, venv, ensurepip; sys.exit(sys.version_info < (3, 11))' >/dev/null 2>&1; then
            PY=$candidate
            return 0
        fi
    done
    echo "doorside: no Python 3.11 or newer with venv and ensurepip was found${PYTHON:+ under the name $PYTHON}" \
        "(on Debian: apt-get install python3 python3-venv)." >&2
    return 1
}
