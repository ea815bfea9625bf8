"""Words of which the invented year is made."""

from __future__ import annotations

FIRST = (
    "Ada", "Bram", "Cleo", "Dov", "Elin", "Faro", "Gwen", "Halim", "Ines", "Jory", "Kesi", "Lior", "Mira", "Nils",
    "Oda", "Pavel", "Rhea", "Sami", "Tove", "Wren",
)  # fmt: skip
LAST = (
    "Abbot", "Brandt", "Calder", "Denholm", "Eskola", "Ferrow", "Garrick", "Hollis", "Ivory", "Jarrow", "Kestrel",
    "Lindqvist", "Marlow", "Norcross",
)  # fmt: skip
JOBS = (
    ("consultant anaesthetist", "TL AO SO FN"),
    ("senior trainee", "AO SO DM"),
    ("anaesthetic assistant", "AA DR"),
    ("intensive care nurse", "DM DOC"),
    ("theatre practitioner", "AA DOC DR"),
    ("theatre support worker", "DR OR"),
    ("intensive care consultant", "TL BR CA"),
    ("infection prevention nurse", "PO IPC"),
)
