"""Settings: typed, few, and told. From the environment (`DOORSIDE_…`), and from words of the command line over it.

A wrong value stops the start with a sentence that names it. Nothing here reads a file or opens anything.

    DOORSIDE_DB                 where the journal and the registers are; default: doorside.db in the data folder
    DOORSIDE_DATA               folder of the server's key and of the default database
    DOORSIDE_HOST               address that the server listens on; default 127.0.0.1, this machine alone
    DOORSIDE_PORT               port that it listens on; default 8000
    DOORSIDE_ZONE               the hospital's time zone by its IANA name; default UTC
    DOORSIDE_HOSPITAL           the hospital's name as pages and exports show it
    DOORSIDE_ALLOW_PLAIN_HTTP   yes: serve http beyond this machine, with a banner; default no
    DOORSIDE_TLS                yes: serve https with the certificate that `doorside tls make` made; default no
    DOORSIDE_TLS_DIR            folder of that certificate and of its authority; default: tls in the data folder
    DOORSIDE_DESK_IDLE_MIN      minutes without a touch after which a person at a desk is signed out; default 10
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, fields
from pathlib import Path
from zoneinfo import ZoneInfo

from app.base.errors import NotValid

PREFIX = "DOORSIDE_"
UTC_ZONE = ZoneInfo("UTC")
LOOPBACK = ("127.0.0.1", "::1", "localhost")
_YES, _NO = ("yes", "true", "on", "1"), ("no", "false", "off", "0")


class BadSetting(NotValid):
    """A setting that cannot be used. The server does not start."""

    def __init__(self, name: str, value: str, wanted: str) -> None:
        super().__init__(
            f"The setting {PREFIX}{name.upper()} is {value!r}, which is not {wanted}.",
            holds="Nothing was started.",
            do="Change it and start again.",
        )


@dataclass(frozen=True, slots=True)
class Settings:
    """What can be chosen about an installation.

    db                URL of the database: `sqlite:///path`, or `postgresql+psycopg://user@host/name`
    data              folder of the server's signing key; also of the default database. Outside any backup of the
                      database, so that who can change the one cannot sign with the other
    host, port        where the server listens; port 0 lets the machine choose one
    zone              the hospital's time zone: stored times are UTC, shown times are in this one
    hospital          name on pages and exports; may be empty
    allow_plain_http  serve http to other machines (a banner says so); otherwise http is for this machine alone
    tls, tls_dir      serve https; where its certificate and the authority's files lie (`base/certificates.py`)
    desk_idle_min     how long a person stays signed in at a desk that nobody touches, 1 to 120 [min]
    """

    db: str
    data: Path
    host: str = "127.0.0.1"
    port: int = 8000
    zone: ZoneInfo = UTC_ZONE
    hospital: str = ""
    allow_plain_http: bool = False
    tls: bool = False
    tls_dir: Path = Path("tls")
    desk_idle_min: int = 10

    @property
    def plain_on_network(self) -> bool:
        """Whether other machines reach this server by plain http: each page says so then."""
        return not self.tls and self.host not in LOOPBACK

    @property
    def key_file(self) -> Path:
        """The server's private Ed25519 key (`journal/keys.py`)."""
        return self.data / "server.key"


def load(environment: Mapping[str, str] | None = None, **words: object) -> Settings:
    """The settings of this start: `words` (from the command line; None = not given) over the environment.

    Raises BadSetting naming the first value that cannot be used. A `DOORSIDE_` variable of no known name is refused
    too: a misspelt setting that is silently ignored is worse than a stop.
    """
    environment = os.environ if environment is None else environment
    known = {field.name for field in fields(Settings)}
    if unknown := sorted(words.keys() - known):
        raise TypeError(f"no such setting: {unknown[0]}")
    for variable in environment:
        if variable.startswith(PREFIX) and variable.removeprefix(PREFIX).lower() not in known | _ELSEWHERE:
            raise BadSetting(variable.removeprefix(PREFIX), environment[variable], "a setting that Doorside knows")
    given = {name: environment[PREFIX + name.upper()] for name in known if environment.get(PREFIX + name.upper())}
    given |= {name: str(value) for name, value in words.items() if value is not None}
    data = Path(given.get("data") or _default_folder(environment)).expanduser()
    if data.exists() and not data.is_dir():
        raise BadSetting("data", str(data), "a folder")
    return Settings(
        db=database_url(given.get("db") or str(data / "doorside.db")),
        data=data,
        host=given.get("host", "127.0.0.1"),
        port=_port(given.get("port", "8000")),
        zone=_zone(given.get("zone", "UTC")),
        hospital=given.get("hospital", ""),
        allow_plain_http=_yes_or_no("allow_plain_http", given.get("allow_plain_http", "no")),
        tls=_yes_or_no("tls", given.get("tls", "no")),
        tls_dir=Path(given.get("tls_dir") or data / "tls").expanduser(),
        desk_idle_min=_minutes("desk_idle_min", given.get("desk_idle_min", "10")),
    )


_ELSEWHERE = {"chaos_s", "crash_rounds", "long"}
"""Variables of that prefix that the tests read."""


def database_url(text: str) -> str:
    """A database URL, or the path of a SQLite file made into one. Raises BadSetting for other databases.

    >>> database_url("/srv/doorside.db")
    'sqlite:////srv/doorside.db'
    """
    if "://" not in text:
        return f"sqlite:///{text}"
    scheme, _, rest = text.partition("://")
    if scheme in ("postgresql", "postgres"):
        return f"postgresql+psycopg://{rest}"
    if scheme == "postgresql+psycopg":
        return text
    if scheme != "sqlite":
        raise BadSetting("db", f"{scheme}://…", "a SQLite or PostgreSQL database")
    if rest.strip("/") in ("", ":memory:"):
        raise BadSetting("db", text, "a database on disk: one in memory would lose what it acknowledged")
    return text


def _default_folder(environment: Mapping[str, str]) -> Path:
    base = environment.get("XDG_DATA_HOME", "")
    return (Path(base) if base.startswith("/") else Path("~/.local/share")) / "doorside"


def _port(text: str) -> int:
    if not (text.isascii() and text.isdecimal() and len(text) < 6 and int(text) < 65536):
        raise BadSetting("port", text, "a port number from 0 to 65535")
    return int(text)


def _minutes(name: str, text: str) -> int:
    if not (text.isascii() and text.isdecimal() and len(text) < 4 and 1 <= int(text) <= 120):
        raise BadSetting(name, text, "a number of minutes from 1 to 120")
    return int(text)


def _zone(text: str) -> ZoneInfo:
    try:
        return ZoneInfo(text)
    except (OSError, ValueError, LookupError) as error:
        raise BadSetting("zone", text, "the IANA name of a time zone, like Europe/Vienna") from error


def _yes_or_no(name: str, text: str) -> bool:
    if text.lower() not in (*_YES, *_NO):
        raise BadSetting(name, text, "yes or no")
    return text.lower() in _YES
