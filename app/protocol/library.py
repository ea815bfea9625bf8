"""The protocols that come with Doorside, read from `library/` beside this file.

They are first versions for a department to read, change and approve. Reading happens once a process; the files are
part of the package, so a mistake in one is a fault of the build and stops it with the list of mistakes.
"""

from __future__ import annotations

from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable

from app.base.errors import DoorsideError, Unknown
from app.protocol.check import Shared, check
from app.protocol.equipment import Ensemble
from app.protocol.positions import Spot, read_tree
from app.protocol.values import Protocol

CHILD_BELOW_YEARS = 16
"""Below this age in years a case is a child's. Local default [L]; hospitals draw the line between 12 and 18."""


def _folder() -> Traversable:
    return resources.files("app.protocol") / "library"


def _tree(file: Traversable) -> Spot:
    tree, mistakes = read_tree(file.read_text("utf-8"), file.name)
    if tree is None or mistakes or not isinstance(tree.value, dict):
        raise DoorsideError("A built-in file cannot be read: " + " ".join(map(str, mistakes)) + ".")
    return tree


def _yaml(folder: Traversable) -> list[Traversable]:
    return sorted((file for file in folder.iterdir() if file.name.endswith(".yaml")), key=lambda file: file.name)


@cache
def shared() -> Shared:
    """The parts, rules and sources that every protocol may build on."""
    parts: dict[str, Spot] = {}
    for file in _yaml(_folder() / "parts"):
        for name, part in _tree(file).value.items():
            if name in parts:
                raise DoorsideError(f"The part '{name}' stands in {parts[name].file} and in {file.name}.")
            parts[name] = part
    return Shared(parts, _tree(_folder() / "rules.yaml"), _tree(_folder() / "sources.yaml"))


@cache
def protocols() -> tuple[Protocol, ...]:
    """Every built-in protocol, in order of its id. Raises DoorsideError with the mistakes of a broken one."""
    found = []
    for file in _yaml(_folder()):
        if file.name in ("rules.yaml", "sources.yaml"):
            continue
        protocol, mistakes = check(file.read_text("utf-8"), file.name, shared())
        if protocol is None:
            raise DoorsideError("A built-in protocol has mistakes:\n" + "\n".join(map(str, mistakes)))
        found.append(protocol)
    return tuple(sorted(found, key=lambda protocol: protocol.id))


def age_group(age: str) -> str:
    """`adult` or `child` for what a case says of age: those words, or years as a number. Unknown counts as adult.

    >>> age_group("6"), age_group("adult"), age_group("")
    ('child', 'adult', 'adult')
    """
    try:
        return "child" if float(age) < CHILD_BELOW_YEARS else "adult"
    except ValueError:
        return "child" if age == "child" else "adult"


def protocol_for(procedure: str, age: str) -> Protocol:
    """The built-in protocol for a procedure and an age (`adult`, `child`, or years).

    Where no protocol of its own exists for that age, the procedure's other one is given, so that a case always has its
    buttons; compare `age_group(age)` with `Protocol.ages` and say so on the page. Raises Unknown for a procedure that
    no protocol covers.
    """
    fitting = [protocol for protocol in protocols() if protocol.procedure == procedure]
    if not fitting:
        known = ", ".join(sorted({protocol.procedure for protocol in protocols()}))
        raise Unknown(f"There is no protocol for '{procedure}'.", do=f"Choose one of: {known}.")
    group = age_group(age)
    return min(fitting, key=lambda protocol: (group not in protocol.ages, -protocol.version))


def protocol_by_id(protocol_id: str) -> Protocol:
    """The built-in protocol of that id. Raises Unknown."""
    for protocol in protocols():
        if protocol.id == protocol_id:
            return protocol
    known = ", ".join(protocol.id for protocol in protocols())
    raise Unknown(f"There is no protocol '{protocol_id}'.", do=f"Choose one of: {known}.")


@cache
def ensembles() -> tuple[Ensemble, ...]:
    """The built-in ensembles, least protection first."""
    return tuple(sorted(protocols()[0].ensembles, key=lambda item: item.level))


def ensemble(code: str) -> Ensemble:
    """The built-in ensemble of that code. Raises Unknown."""
    for item in ensembles():
        if item.code == code:
            return item
    known = ", ".join(item.code for item in ensembles())
    raise Unknown(f"There is no ensemble '{code}'.", do=f"Choose one of: {known}.")
