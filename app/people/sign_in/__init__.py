"""Signing in at a desk: who may, with what rights, by which PIN, and who is signed in where.

`values` says what each kind of use allows. `pins` judges and hashes PINs, `locks` slows guessing down, `door` puts them
together: it is what the pages call. `store` holds all SQL. Nobody signs in at a tablet inside or outside a room.
"""
