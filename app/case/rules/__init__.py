"""The sixty rules R01-R60: what a tired team would want to have been told.

A rule is a pure function: it sees one happening with the state before and after it (`notice.Sight`), and gives
findings (something is so, now) and watches (something will be so at a known second, unless the state then says
otherwise). The families are files: `crew`, `readiness`, `protection`, `undressing`, `door`, `airway`, `proof`,
`vitals`, `circuit`, `rescue`, `requests`, `transport`, `record`, and `across` for what only several cases together
show. `ask` holds the questions that many of them put to a state; `catalogue` names every rule and holds its words,
`settings` finds its limits.

`engine` takes happenings one after another and keeps watches, `judgement` does that for whole cases as entries arrive
in any order, `day` remembers what was raised when, and `judge` is the way in: `standing`, `live`, `next_due`, `status`.
To add a rule: its words in `catalogue`, its limits in the protocol's `rules.yaml`, its function in the family's file.
"""
