"""`doorside calc`: every calculation by name, so that anyone can check a number against a table.

Imports arithmetic only, so that it starts at once. A refusal is one sentence on standard error and exit status 2.
"""

from __future__ import annotations

import json
import sys
from argparse import REMAINDER, ArgumentParser, Namespace
from collections.abc import Iterator, Mapping
from importlib import import_module
from math import ceil, floor
from typing import TYPE_CHECKING, Any

from app.base.calculation import CATALOGUE, Calculation, Result, find
from app.base.checks import OutOfRange, Refused, plain

if TYPE_CHECKING:
    from argparse import _SubParsersAction

MODULES = (
    "app.bedside.body",
    "app.bedside.dose",
    "app.bedside.infusion",
    "app.bedside.labels",
    "app.bedside.tubes",
    "app.bedside.cylinders",
    "app.bedside.ventilation",
    "app.bedside.scores",
    "app.bedside.oxygen",
    "app.bedside.apnoea.forecast",
    "app.bedside.air",
    "app.bedside.infection",
    "app.bedside.protection",
    "app.bedside.exposure",
    "app.journal.clock",
    "app.bedside.quality",
    "app.bedside.charts",
    "app.bedside.cusum",
    "app.bedside.queueing",
)
_SAFE_SIDE = {
    **dict.fromkeys(("clearance_minutes", "clearance_minutes_with_mixing_factor"), ceil),
    **dict.fromkeys(("clearance_minutes_with_portable_hepa", "transfer_oxygen_l"), ceil),
    "post_procedure_wait_minutes_to_percent_of_steady_state": ceil,
    **dict.fromkeys(("cylinder_minutes_us", "cylinder_minutes_ratio", "cylinder_minutes_full_uk"), floor),
    **dict.fromkeys(("tidal_volume_ml", "days_of_supply"), floor),
}
"""The way in which a value is rounded before anybody acts on it."""
LONG_MIN = 600
_OPTIONS = {"--json": "as_json", "--list": "list_all", "-h": "explain", "--help": "explain"}
USAGE = "doorside calc NAME key=value … [--json] · --list · NAME --help · --batch FILE.jsonl --json"


def add_parser(subparsers: _SubParsersAction[Any]) -> None:
    """Declare the command. `--help` after a name is ours, so argparse's own is off."""
    parser: ArgumentParser = subparsers.add_parser("calc", help="one calculation by name", add_help=False, usage=USAGE)
    parser.add_argument("name", nargs="?")
    parser.add_argument("inputs", nargs=REMAINDER, metavar="key=value")
    parser.add_argument("--json", action="store_true", dest="as_json")
    parser.add_argument("--list", action="store_true", dest="list_all")
    parser.add_argument(
        "--batch", metavar="FILE.jsonl", help="a line {name, inputs} in, one result line out; - is stdin"
    )
    parser.add_argument("--db", metavar="URL", help="taken like every command's; arithmetic needs no database")
    parser.add_argument("-h", "--help", action="store_true", dest="explain")
    parser.set_defaults(run=run)


def run(args: Namespace) -> int:
    """Run the command. Exit status 0, or 2 when something was refused."""
    try:
        load()
        _take_options(args)
        if args.batch:
            return _batch(args.batch, as_json=args.as_json)
        if args.list_all:
            _list(as_json=args.as_json)
        elif not args.name:
            print(f"usage: {USAGE}", file=sys.stdout if args.explain else sys.stderr)
            return 0 if args.explain else 2
        elif args.explain:
            print(explained(find(args.name)))
        else:
            result = worked_out(args.name, dict(pairs(args.inputs)))
            print(_json(result.as_json()) if args.as_json else printed(result))
    except Refused as refusal:
        print(refusal, file=sys.stderr)
        return 2
    return 0


def _take_options(args: Namespace) -> None:
    """Options that stand after the name, in any order with the inputs: argparse would end the inputs there."""
    words, inputs = iter(args.inputs), []
    for word in words:
        if word in _OPTIONS:
            setattr(args, _OPTIONS[word], True)
        elif word in ("--batch", "--db"):
            setattr(args, word.removeprefix("--"), next(words, None))
            if args.batch is None and word == "--batch":
                raise Refused("--batch names no file.", do="Give FILE.jsonl, or - for stdin.")
        else:
            inputs.append(word)
    args.inputs = inputs


def load() -> None:
    """Fill the catalogue with every calculation of the product."""
    for module in MODULES:
        import_module(module)


def pairs(words: list[str]) -> Iterator[tuple[str, object]]:
    """`key=value` words as names and values; a value that is a JSON list or mapping is read as such.

    Raises Refused for a word without `=`, and for a name that is given twice.
    """
    seen: set[str] = set()
    for word in words:
        name, equals, value = word.partition("=")
        if not equals or not name:
            raise Refused(
                f"{word[:60]!r} is not an input.", do="Write it as key=value, without spaces around the sign."
            )
        if name in seen:
            raise Refused(f"{name} is given twice.")
        seen.add(name)
        yield name, value


def worked_out(name: str, inputs: Mapping[str, object]) -> Result:
    """The result of one calculation. Raises Refused, also where the arithmetic itself ends in no number."""
    try:
        return find(name).work_out(inputs)
    except ArithmeticError:
        raise OutOfRange(f"{name} has no finite value for these inputs.") from None


def answer(line: Mapping[str, Any]) -> dict[str, object]:
    """One line of a batch: a result, or the refusal in its place."""
    name, inputs = line.get("name"), line.get("inputs", {})
    try:
        if not isinstance(name, str) or not isinstance(inputs, Mapping):
            raise Refused("A line of a batch is an object with name (text) and inputs (object).")
        return worked_out(name, inputs).as_json()
    except Refused as refusal:
        return {"name": name, "error": str(refusal), "status": "refused"}


def _batch(path: str, *, as_json: bool) -> int:
    try:
        with sys.stdin if path == "-" else open(path, encoding="utf-8-sig", errors="replace") as lines:
            for line in lines:
                if line.strip():
                    result = answer(_object(line))
                    brief = f"{result['name']}: {result.get('value', result.get('error'))}"
                    print(_json(result) if as_json else _whole(brief))
    except BrokenPipeError:
        raise
    except (OSError, UnicodeDecodeError) as error:
        print(f"{path} cannot be read: {error}.", file=sys.stderr)
        return 2
    return 0


def _object(line: str) -> Mapping[str, Any]:
    try:
        value = json.loads(line)
    except (ValueError, RecursionError):
        return {}
    return value if isinstance(value, dict) else {}


def _list(*, as_json: bool) -> None:
    for entry in CATALOGUE.values():
        names = [each.name for each in entry.inputs]
        if as_json:
            print(_json({"name": entry.name, "unit": entry.unit, "inputs": names, "says": entry.says}))
        else:
            print(f"{entry.name}  [{entry.unit or '-'}]  {entry.says}\n    {', '.join(names)}")


def explained(entry: Calculation) -> str:
    """The help of one calculation: inputs with unit and range, formula, source, cautions."""
    width = max(len(each.name) for each in entry.inputs)
    lines = [f"{entry.name}  [{entry.unit or '-'}]", entry.says, "", "Inputs"]
    for each in entry.inputs:
        extra = f"; {_shown(each.assumed)} when left out" if each.assumed is not None else "; optional" * each.optional
        lines.append(f"  {each.name:<{width}}  {each.meaning + '; ' if each.meaning else ''}{each.allowed}{extra}")
    lines += ["", f"Formula  {entry.formula}", f"Source   {entry.source_marked}"]
    return "\n".join([*lines, *(f"Caution  {caution}" for caution in entry.cautions)])


def printed(result: Result) -> str:
    """One result for people: the value first, then all that must stand beside it."""
    grade = f"  {result.grade}" if result.grade and result.grade != result.value else ""
    unit = f" {result.unit}" if result.unit and result.unit not in ("text", "class", "bool", "colour", "date") else ""
    lines = [f"{result.name} = {_shown(result.value)}{unit}{grade}"]
    if result.name in _SAFE_SIDE:
        lines.append(f"  to act on: {_to_act_on(result)}")
    lines += [
        f"  {name} = {_shown(value)}" for name, value in result.more.items() if not isinstance(value, list | dict)
    ]
    lines += [f"Warning  {warning}" for warning in result.warnings]
    lines.append("Inputs   " + ", ".join(f"{name}={_shown(value)}" for name, value in result.inputs.items()))
    lines += [f"Formula  {result.formula}", f"Source   {result.source}"]
    return _whole("\n".join([*lines, *(f"Caution  {caution}" for caution in result.cautions)]))


def _to_act_on(result: Result) -> str:
    """The value rounded to its safe side; a cylinder is not promised to last beyond ten hours."""
    assert isinstance(result.value, float)
    if result.name.startswith("cylinder") and result.value > LONG_MIN:
        return "> 10 h"
    way = _SAFE_SIDE[result.name]
    return f"{way(round(result.value, 9))} {result.unit}, rounded {'up' if way is ceil else 'down'}"


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return plain(float(f"{value:.5g}")) if abs(value) < 1e5 else plain(round(value))
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_shown(item) for item in value) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{name}: {_shown(item)}" for name, item in value.items()) + "}"
    return str(value)


def _json(value: object) -> str:
    return _whole(json.dumps(value, ensure_ascii=False))


def _whole(text: str) -> str:
    """Text that can be printed: half a character, or a byte that is none, becomes a question mark."""
    return text.encode("utf-8", "replace").decode("utf-8")
