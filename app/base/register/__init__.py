"""One machine for every register of the department: people, rooms, kit, organisms, shifts.

A register is described by data (`spec.py`: its table, its fields with kind, unit, range and choices, what names a row)
and everything else follows from that: reading what was typed (`cells.py`), the store with its full history and undo
(`store/`, `tables.py`), CSV in and out (`sheet.py`, `imports.py`). A register's own file only describes it.
"""
