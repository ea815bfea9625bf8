"""The server's Ed25519 key: with it the newest entry of each case is signed.

The private half lies in a file outside the database, readable by its owner alone, and in no backup. The public half
also stands in the table `server_key`, so that a copy can be verified on another machine. Where the key file exists, its
word counts and the table's does not: whoever can change the table could put a key of their own there.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat, load_pem_private_key
from sqlalchemy import Connection, Engine, bindparam, text

from app.base.database import UTCDateTime, writing
from app.base.errors import DoorsideError
from app.base.time import utc_now
from app.journal.chain import head_text
from app.journal.tree import SIGNATURE_DIGITS, grown, root_of, root_text

REGISTERED = text("SELECT public_key FROM server_key")
REGISTER = text(
    "INSERT INTO server_key (public_key, created_at) VALUES (:key, :now) ON CONFLICT DO NOTHING"
).bindparams(bindparam("now", type_=UTCDateTime()))


PUT_BACK = "Put a copy of the right file back."


class BadKey(DoorsideError):
    """The key file or a public key cannot be used."""


@dataclass(frozen=True, slots=True)
class PublicKey:
    """The half that everybody may have. `hex`: its 32 bytes in hex, as `doorside verify --key` takes it."""

    hex: str
    _key: Ed25519PublicKey = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        try:
            object.__setattr__(self, "_key", Ed25519PublicKey.from_public_bytes(bytes.fromhex(self.hex)))
        except ValueError as error:
            raise BadKey("That is not a public key.", do="Give its 64 hexadecimal digits.") from error

    @property
    def fingerprint(self) -> str:
        """Its first 16 digits: enough to compare by eye."""
        return self.hex[:16]

    def signed(self, case: str, seq: int, head_hash: str, signature: str) -> bool:
        """Whether this key signed that this is a case's newest entry, by itself or together with others (`tree.py`)."""
        own, way = signature[:SIGNATURE_DIGITS], signature[SIGNATURE_DIGITS:]
        try:
            text = head_text(case, seq, head_hash)
            self._key.verify(bytes.fromhex(own), root_text(root_of(text, way)) if way else text)
        except (InvalidSignature, ValueError, TypeError):
            return False
        return True


@dataclass(frozen=True, slots=True)
class ServerKey:
    """The whole key. Lives in memory and in its file, nowhere else."""

    _private: Ed25519PrivateKey = field(repr=False)

    @classmethod
    def generate(cls) -> ServerKey:
        """A key of its own for a database that is thrown away (replay, tests)."""
        return cls(Ed25519PrivateKey.generate())

    @property
    def public(self) -> PublicKey:
        return PublicKey(self._private.public_key().public_bytes_raw().hex())

    def sign_head(self, case: str, seq: int, head_hash: str) -> str:
        """Signature in hex (128 digits) over `chain.head_text`."""
        return self._private.sign(head_text(case, seq, head_hash)).hex()

    def sign_heads(self, heads: Sequence[tuple[str, int, str]]) -> list[str]:
        """Signatures of several heads (case, seq, hash) in their order, for the price of one (`tree.py`)."""
        if len(heads) < 2:
            return [self.sign_head(*head) for head in heads]
        root, ways = grown([head_text(*head) for head in heads])
        signature = self._private.sign(root_text(root)).hex()
        return [signature + way for way in ways]

    def secret(self, purpose: str) -> bytes:
        """32 bytes for a keyed hash of another kind, made from this key (HKDF, RFC 5869): one file to guard."""
        made = HKDF(algorithm=SHA256(), length=32, salt=None, info=f"doorside {purpose}".encode())
        return made.derive(self._private.private_bytes_raw())


def read_key(path: Path) -> ServerKey | None:
    """The key in a file; None when there is no such file. Raises BadKey for what is no key, or is open to others."""
    try:
        if os.name == "posix" and path.stat().st_mode & 0o077:
            raise BadKey(
                "The server's key file can be read by others.",
                holds="It was not used.",
                do="Let only its owner read it (mode 600).",
            )
        key = load_pem_private_key(path.read_bytes(), password=None)
    except FileNotFoundError:
        return None
    except (OSError, ValueError, TypeError) as error:
        raise BadKey("The server's key file cannot be read as a key.", do=PUT_BACK) from error
    if not isinstance(key, Ed25519PrivateKey):
        raise BadKey("The server's key file holds a key of another kind.", do=PUT_BACK)
    return ServerKey(key)


def open_key(path: Path) -> ServerKey:
    """The key in a file, made at first use. Two processes that start together end with the same one.

    Raises BadKey as `read_key` does, and when the file cannot be made.
    """
    if (found := read_key(path)) is not None:
        return found
    try:
        _make(path)
    except OSError as error:
        raise BadKey("The server's key file cannot be made.", do="Check the rights on the data folder.") from error
    if (made := read_key(path)) is None:
        raise BadKey("The server's key file vanished while it was being made.", do="Start again.")
    return made


def _make(path: Path) -> None:
    """Writes a new key aside and links it to its name, which fails when another process was quicker: its key counts."""
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    text = Ed25519PrivateKey.generate().private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    handle, aside = tempfile.mkstemp(dir=path.parent, prefix=".key-")  # mkstemp makes files of mode 600
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        try:
            os.link(aside, path)
        except FileExistsError:
            return
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
    finally:
        os.unlink(aside)


def registered(connection: Connection) -> PublicKey | None:
    """The public key that stands in a database."""
    found = connection.execute(REGISTERED).first()
    return None if found is None else PublicKey(found[0])


def register(engine: Engine, key: ServerKey) -> None:
    """Writes a server's public key into its database, at every start.

    Raises BadKey when the database was signed with another key: going on would leave a journal half of which nobody can
    vouch for. All servers of one database share one key file.
    """
    with writing(engine) as connection:
        there = registered(connection)
        if there is None:
            connection.execute(REGISTER, {"key": key.public.hex, "now": utc_now()})
            there = registered(connection)  # two servers starting together on PostgreSQL: the first one's counts
    if there != key.public:
        raise BadKey(
            f"This database is signed with another key ({there.fingerprint if there else 'none'}…).",
            holds="Nothing was changed.",
            do="Put that key's file back into the data folder; if it is lost, make a backup and restore it: "
            "that signs everything anew.",
        )
