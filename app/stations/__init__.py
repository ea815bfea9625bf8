"""Stations: the paired screens, what each may see, and how one proves who it is.

A station is a row with a secret of which only the hash is kept. The secret lives in a cookie named after the station's
kind, so one browser can be an inside screen in one tab and an outside screen in another. `store` holds all SQL.
"""
