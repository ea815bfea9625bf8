"""Doorside: one live record for the people on both sides of an isolation room's closed door.

Start with `DEVELOPERS.md`. In one breath: everything that happens in a case is an *entry* in that case's *journal*
(`app/journal`); what a page shows is a *fold* of the journal (`app/case`) drawn as panels (`app/live`), pushed to every
paired station (`app/web`). The folders are layers; `pyproject.toml` holds which may import which.
"""

__version__ = "0.1.0"
