"""Clinical arithmetic, pure: no clock, no database, no defaults that are not said.

One file a topic: `body`, `dose`, `infusion`, `labels`, `tubes`, `cylinders`, `ventilation`, `oxygen`, `scores`, `air`,
`infection`, `protection`, `exposure`, `quality`, `charts`, `cusum`, `queueing`; `apnoea/` is the model of how long a
patient can go without breathing, `draw_up` turns a drug's range into doses and volumes for one patient, `formulary`
reads the department's drug list (`data/formulary.yaml`). Each calculation is a function with its inputs, unit, formula,
source and cautions declared beside it (`app/base/calculation.py`): call it with keywords and it gives a bare value, a
`Graded` one when it says more about itself, or refuses; ask the catalogue for the same name and it gives the value with
everything to show beside it.
Inputs that many share stand in `given.py`. Figures are checked against published tables in `tests/app/bedside`.
"""
