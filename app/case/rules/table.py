"""The table of the rules for readers: number, name, what it says and how loudly, source.

`python -m app.case.rules.table` prints it; it stands in the README between the markers below, and a test compares.
"""

from __future__ import annotations

from collections.abc import Mapping

from app.case.rules.catalogue import WORDS
from app.case.rules.notice import Settings
from app.case.rules.settings import built_in
from app.case.state import State

BEGIN, END = "<!-- rules -->", "<!-- /rules -->"
HEAD = "| rule | name | what it says | source |\n| --- | --- | --- | --- |\n"
_VARIANTS: Mapping[tuple[str, str], tuple[str, ...]] = {
    ("R10", "not_staged"): ("item",),
    ("R26", "none"): ("other", "immediate"),
    ("R48", "lost"): ("count",),
}
"""Sentences that are one of several for a situation, where a rule's situations differ in severity."""


def table(settings: Settings | None = None) -> str:
    """The rules as a Markdown table, with the built-in settings unless others are given.

    Severities stand behind each sentence: N note, W warning, C critical. What is filled in stands in italics.
    """
    settings = settings or built_in(State(""))
    return HEAD + "".join(_row(rule, settings) for rule in WORDS)


def _row(rule: str, settings: Settings) -> str:
    words, setting = WORDS[rule], settings[rule]
    said: dict[str, set[str]] = {}
    for say, sentence in words.says.items():
        said.setdefault(sentence, set()).update(severities(rule, say, settings))
    says = " · ".join(f"{_plain(sentence)} ({_levels(found)})" for sentence, found in said.items())
    return f"| {rule} | {words.name} | {says} | {setting.source} |\n"


def severities(rule: str, say: str, settings: Settings) -> set[str]:
    """With which severities a rule can say one of its sentences."""
    levels = settings[rule].levels
    situations = (say,) if say in levels else _VARIANTS.get((rule, say), tuple(levels))
    return {levels[situation] for situation in situations}


def _levels(found: set[str]) -> str:
    return "/".join(level for level in "NWC" if level in found)


def _plain(sentence: str) -> str:
    """A sentence with its places as words in italics: `{need_min}` is *need min*."""
    parts = sentence.split("{")
    first, rest = parts[0], parts[1:]
    places = (part.partition("}") for part in rest)
    return first + "".join(f"*{_words(name)}*{after}" for name, _, after in places)


def _words(name: str) -> str:
    return "person" if name == "p" else name.replace("_", " ")


if __name__ == "__main__":
    print(table(), end="")
