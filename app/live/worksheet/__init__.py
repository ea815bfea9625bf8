"""The worksheet: a patient's figures in, everything that follows for this case out, as rows that a page sets out.

`fields` lists what may be typed and reads it, `figure` turns one calculation of `app/bedside` into a row with value,
unit, inputs, formula, source and cautions, or with what is missing. One file a section (`body`, `tubes`, `drugs`,
`apnoea` with its `curve`, `journey`, `air`), `sheet` puts them together, `prefill` takes from a case what it knows.
Nothing here is stored, and nothing that is missing is guessed.
"""
