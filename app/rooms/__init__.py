"""Rooms: where procedures are done, and what was measured about their air.

`tables` is the register. A room without measured air changes gives no clearance time: nothing is assumed.
"""
