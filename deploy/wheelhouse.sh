#!/bin/sh
# Builds wheelhouse/: all it takes to install Doorside where there is no network and no Node.
#
#     sh deploy/wheelhouse.sh               on a machine like the one it is meant for, with the network
#     pip install --no-index --find-links wheelhouse doorside           there; 'doorside[pg]' for PostgreSQL
#
# It holds the doorside wheel (pages, static files and migrations inside) and the wheels of requirements.lock and of the
# PostgreSQL driver, checked by hash. Wheels with compiled parts serve one version of Python and one kind of machine, so
# the version is written beside them. A checkout that holds this folder starts from it: sh deploy/run.sh.
set -eu

here=$(CDPATH='' cd -- "$(dirname -- "$0")/.." && pwd -P)
. "$here/deploy/find_python.sh"
find_python || exit 1
"$PY" -E "$here/deploy/set_up.py" requirements-dev.lock || exit $?
cd "$here"
python=.venv/bin/python

new=$here/.doorside/wheelhouse.$$
trap 'rm -rf "$new"' EXIT
trap 'exit 130' INT TERM
mkdir -p "$new"

# The PostgreSQL driver is pinned for development only: its lines are taken from there.
awk '/^[^ ]/ { wanted = /^psycopg(-binary)?==/ } wanted' requirements-dev.lock >"$new/pg.lock"

echo "doorside: building the doorside wheel" >&2
"$python" -m hatchling build -t wheel -d "$new" >&2
echo "doorside: fetching the wheels of requirements.lock and of the PostgreSQL driver" >&2
"$python" -m pip download -q --disable-pip-version-check --no-deps --require-hashes --only-binary :all: \
    -d "$new" -r requirements.lock -r "$new/pg.lock" >&2
rm "$new/pg.lock"
"$python" -c 'import sys; print("%d.%d" % sys.version_info[:2])' >"$new/python-version"

rm -rf wheelhouse
mv "$new" wheelhouse
echo "doorside: wheelhouse/ holds $(ls wheelhouse/*.whl | wc -l | tr -d ' ') wheels for Python $(cat wheelhouse/python-version)" >&2
