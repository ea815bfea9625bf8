"""The department's own written procedures, as data.

A protocol says which moments of a procedure get a time (milestones, in phases, with the words on their buttons), what
lies on which tray, who does what, what is worn and in which order, what comes next when an attempt fails, what the
door may lay ready, and where every rule's limit stands, each with its source. Code knows the vocabulary
(`app/base/kinds.py`) and the rules' names (`known_rules.py`); everything else is the department's to change.

Start with `values.py` and `equipment.py` (what a protocol is) and `library/intubation-adult.yaml` (what one looks
like). `words.py` holds the small texts with a grammar of their own (a milestone reference, a source with its evidence
mark). `positions.py` reads YAML and remembers the line of everything; `parts.py` puts shared parts in place;
`check.py` finds every mistake in one pass and says what to write instead, with `grammar.py` for the words; `read.py`
turns values into plain data, back, and into a digest; `schema.py` is the same grammar for editors; `library.py` loads
the protocols that come with Doorside.

A version is never changed: whoever changes a protocol gives it the next version. What a case pins is the digest, and
what is kept is the whole resolved text (`read.plain`), so a later edition of a shared part changes no old case.
"""
