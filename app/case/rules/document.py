"""The table of the rules for readers: number, name, what it says, severity, source.

`python -m app.case.rules.document` prints it.
"""

from __future__ import annotations

from app.case.rules.catalogue import WORDS
from app.case.rules.notice import Settings
from app.case.rules.settings import built_in
from app.case.state import State

HEAD = "| rule | name | what it says | severity | source |\n| --- | --- | --- | --- | --- |\n"
_PLAIN = str.maketrans("_", " ", "{}")


def table(settings: Settings | None = None) -> str:
    """The rules as a Markdown table, with the built-in settings unless others are given."""
    settings = settings or built_in(State(""))
    return HEAD + "".join(_row(rule, settings) for rule in WORDS)


def _row(rule: str, settings: Settings) -> str:
    words, setting = WORDS[rule], settings[rule]
    says = " · ".join(dict.fromkeys(words.says.values())).translate(_PLAIN)
    severities = "/".join(level for level in "NWC" if level in setting.levels.values())
    return f"| {rule} | {words.name} | {says} | {severities} | {setting.source} |\n"


if __name__ == "__main__":
    print(table(), end="")
