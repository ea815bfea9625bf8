"""The judgement of the product, pure: what a case's entries mean.

`vocabulary/` says which kinds of entry exist and what each carries. `correction` applies fixes and voids, `order` dates
and sorts, `folds/` turn one happening after another into a `State`, `fold` does all of that for a whole journal.
`intervals` and `rules/` read the state. Nothing here asks a clock, a database or a register: what the registers said
stands in each entry's `facts`.
"""
