"""Errors that a person can act on.

DoorsideError            what happened to what; what still holds; what to do next
├── Malformed      400   cannot be read at all
├── NotSignedIn    401   somebody must sign in at the desk first; what waits stays and is sent after it
├── NotPaired      401   a secret that proves no station
├── NotPermitted   403   a station or person may not do this
│   └── Revoked    403   a station whose pairing was ended at the desk
├── Unknown        404   names something that was never made
├── Conflict       409   the same id with other content
├── TooLarge       413   more than one request may carry
├── NotValid       422   readable, but not what the vocabulary allows
├── TooOften       429   tried too often; it says when to try again
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


class NotSignedIn(DoorsideError):
    status = 401

    def shape(self) -> dict[str, str]:
        """Says so in a word for scripts too: they offer to sign in and keep what they hold."""
        return {**super().shape(), "reason": "sign-in"}


class NotPaired(DoorsideError):
    status = 401


class NotPermitted(DoorsideError):
    status = 403


class Revoked(NotPermitted):
    """Says so in a word for scripts too: the page wipes its cached picture, never its outbox."""

    def shape(self) -> dict[str, str]:
        return {**super().shape(), "reason": "revoked"}


class Unknown(DoorsideError):
    status = 404


class Conflict(DoorsideError):
    status = 409


class TooLarge(DoorsideError):
    status = 413


class NotValid(DoorsideError):
    status = 422


class TooOften(DoorsideError):
    status = 429


class Busy(DoorsideError):
    status = 503
