"""The command `doorside`: one file a command, each with `add_parser(subparsers)` and `run(args) -> exit status`.

Commands are imported when they are asked for: `doorside calc` must not wait for the web server's libraries.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from importlib import import_module

from app import __version__

COMMANDS = {
    "serve": "serve the pages of this installation",
    "demo": "an invented hospital, alive, on this machine",
    "replay": "play a scenario file and print what came of it",
    "calc": "one calculation by name",
    "verify": "walk every chain of the journal and name the first entry that is wrong",
    "backup": "write a verified copy of the database while it runs",
    "restore": "put a backup back into an empty database",
    "admin": "who administers; a new PIN for one who lost theirs",
    "pair": "a one-time code that pairs a screen, when no desk is at hand",
    "tls": "make, renew or show the certificate for this server's names",
    "protocol": "check a protocol file; list protocols; export the schema",
}


def main(argv: Sequence[str] | None = None) -> int:
    """Runs a command. Exit status 2 for wrong words, 1 for a command that failed, both with a sentence on stderr."""
    words = list(sys.argv[1:] if argv is None else argv)
    parser = argparse.ArgumentParser(prog="doorside", description="One live record on both sides of a closed door.")
    parser.add_argument("--version", action="version", version=f"doorside {__version__}")
    subparsers = parser.add_subparsers(dest="command", metavar="COMMAND")
    wanted = next((word for word in words if not word.startswith("-")), None)
    for name, summary in COMMANDS.items():
        if name == wanted:
            import_module(f"app.cli.{name}").add_parser(subparsers)
        else:
            subparsers.add_parser(name, help=summary, add_help=False)
    args = parser.parse_args(words)
    if args.command is None:
        parser.print_help()
        return 2
    try:
        return int(import_module(f"app.cli.{args.command}").run(args))
    except KeyboardInterrupt:
        return 130
    except BrokenPipeError:
        sys.stderr.close()
        return 1
    except Exception as error:
        from app.base.errors import DoorsideError

        if isinstance(error, DoorsideError):
            print(f"doorside {args.command}: {error}", file=sys.stderr)
            return 2 if error.status in (400, 404, 422) else 1
        raise
