#!/bin/sh
# From a bare Python 3.11 or newer to a running Doorside:
#
#     sh deploy/run.sh                      the demo, with the address printed
#     sh deploy/run.sh verify               any doorside command, in the same environment and the caller's folder
#
# The first start makes .venv beside this checkout and fetches the static files; later ones only look whether both are
# still right. All that this script says goes to standard error: standard output is the command's alone.
set -eu

here=$(CDPATH='' cd -- "$(dirname -- "$0")/.." && pwd -P)
python=$here/.venv/bin/python

# -E -S: neither the caller's environment nor site-packages have a say in whether the set-up is right.
if ! "$python" -E -S "$here/deploy/set_up.py" --check requirements.lock >/dev/null 2>&1; then
    . "$here/deploy/find_python.sh"
    find_python || exit 1
    "$PY" -E "$here/deploy/set_up.py" requirements.lock >&2 || exit $?
fi

[ $# -gt 0 ] || set -- demo

# -P: a folder named app in the caller's own folder must not be taken for ours.
exec env PYTHONPATH="$here" "$python" -P -m app.cli "$@"
