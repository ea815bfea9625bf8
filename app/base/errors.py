"""Errors that a person can act on.

DoorsideError            what happened to what; what still holds; what to do next
├── Malformed      400   cannot be read at all
├── NotPermitted   403   a station or person may not do this
├── Unknown        404   names something that was never made
├── Conflict       409   the same id with other content
├── TooLarge       413   more than one request may carry
├── NotValid       422   readable, but not what the vocabulary allows
└── Busy           503   the writer cannot take more just now; nothing was stored
"""

from __future__ import annotations


class DoorsideError(Exception):
    """One refusal in three short sentences. `status` is the HTTP status that carries it."""

    status = 500

    def __init__(self, what: str, *, holds: str = "Nothing else changed.", do: str = "") -> None:
        super().__init__(" ".join(part for part in (what, holds, do) if part))
        self.what, self.holds, self.do = what, holds, do

    def shape(self) -> dict[str, str]:
        """The one JSON shape in which every error leaves the server."""
        return {"error": self.what, "holds": self.holds, "do": self.do}


class Malformed(DoorsideError):
    status = 400


class NotPermitted(DoorsideError):
    status = 403


class Unknown(DoorsideError):
    status = 404


class Conflict(DoorsideError):
    status = 409


class TooLarge(DoorsideError):
    status = 413


class NotValid(DoorsideError):
    status = 422


class Busy(DoorsideError):
    status = 503
