"""How each kind of entry changes the state, by family; `handlers.py` is the list.

A handler is `(state, happening, body) -> state`. It never raises on what the vocabulary allows, in whatever order
things are said to have happened: a step out of order is recorded as said, and a rule may remark on it.
"""
