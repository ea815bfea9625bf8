"""One file a panel: a frozen dataclass that picks from the fold what its template of the same name shows.

A view chooses and orders; a template only sets out. Neither decides anything clinical.
"""
