"""Scenario files and their player: whole cases written down as text, read, played and compared with what they expect.

`scenario` reads a file into a `Scenario` of plain values (`values`, with `grammar` for single lines, `setup` for `case`
and `staff`, `shorthand` for what one line stands for, `expected` for its `expect` lines); `GRAMMAR.md` tells it all.
`taps` turns it into entries as stations would have made them, in posts as they reached the server. `player` sends the
posts to the journal's writer, `outcome` reads the cases back and judges them, `differences` compares: that in a row is
`doorside replay`.

The demo: `department` is an invented hospital, `register` enters its people and rooms, `scenarios/` are its five rooms,
`moving` makes their night tonight, `night` says what is due when, `demo` plays it into a running server.
"""
