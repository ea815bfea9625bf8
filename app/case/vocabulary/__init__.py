"""The closed list of kinds: one small class a kind, by family, each with its version and what it means.

Stored entries outlive every release. A body may gain a field at the end, with a default that means "unknown"; it may
never lose one, rename one or change a unit. `tests/golden/entries/` holds one stored example of every kind and version
and is never edited. `registry.py` is the list; `words.py` reads the text form of scenario files.
"""
