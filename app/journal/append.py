"""One transaction of the journal, step by step.

    begin → read heads (PostgreSQL: locked, in order of case) → find what is stored already → place and hash
          → insert entries → sign → update heads (PostgreSQL: NOTIFY) → commit

What each crash leaves: before the commit has acted, nothing, and the taps are still on their stations; after it, all of
it, and a tap that is sent again gets its first answer. There is no state between, and nothing to repair at start. Heads
are read afresh in every transaction, so no memory of them can be wrong after a rollback or beside another process.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from operator import itemgetter
from typing import Literal

from sqlalchemy import Engine

from app.base.database import stored_moment
from app.base.errors import Conflict, DoorsideError, NotValid, Unknown
from app.base.time import utc_now
from app.journal.chain import FIRST
from app.journal.entry import Entry
from app.journal.kept import Kept
from app.journal.keys import ServerKey
from app.journal.rows import COLUMNS, Columns, Prepared, placed, same_sent, storable, to_columns, to_entry

Status = Literal["stored", "already", "refused"]
CHANNEL = "doorside"
"""PostgreSQL's NOTIFY channel; the payload is `case seq`."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one entry.

    stored   new, on disk now; already: the same entry was stored before, here it is
    refused  not stored; `error` says why. Busy among them means: the database failed, send it again
    """

    id: str
    status: Status
    entry: Entry | None = None
    error: DoorsideError | None = None


@dataclass(slots=True)
class Head:
    """The newest entry of a case while a transaction moves it on."""

    seq: int
    hash: str
    ended: bool


@dataclass(frozen=True, slots=True)
class NewCase:
    """A case that is to exist."""

    case: str
    ref: str | None
    room_id: str | None = None


_HEADS = "SELECT case_id, seq, hash, ended FROM journal_head WHERE case_id IN ({marks}) ORDER BY case_id"
_FIND = f"SELECT {', '.join(COLUMNS)} FROM journal_entry WHERE id IN ({{marks}})"
_INSERT = f"INSERT INTO journal_entry ({', '.join(COLUMNS)}) VALUES ({{marks}})"
_MOVE = "UPDATE journal_head SET seq = {mark}, hash = {mark}, signature = {mark}, ended = {mark} WHERE case_id = {mark}"
_CREATE = (
    "INSERT INTO journal_head (case_id, seq, hash, signature, created_at, ref, room_id, ended)"
    " VALUES ({mark}, 0, {mark}, {mark}, {mark}, {mark}, {mark}, false) ON CONFLICT (case_id) DO NOTHING"
)
_NOTIFY = "SELECT pg_notify(%s, %s)"
FIND_AT_ONCE = 500
_in_order = itemgetter(*COLUMNS)


class Steps:
    """The steps of a transaction, one method each, so that a test can make each fail before or after it acted.

    Their statements go to the driver as they are: what SQLAlchemy does around each costs three times what it does.
    """

    def __init__(self, engine: Engine, key: ServerKey) -> None:
        self._kept, self._key, self._dialect = Kept(engine), key, engine.dialect
        self._postgresql = engine.dialect.name == "postgresql"
        self._mark = "%s" if self._postgresql else "?"
        self._heads = _HEADS + (" FOR UPDATE" if self._postgresql else "")
        self._insert = _INSERT.format(marks=self._marks(len(COLUMNS)))
        self._move, self._create = _MOVE.format(mark=self._mark), _CREATE.format(mark=self._mark)

    def _marks(self, count: int) -> str:
        return ", ".join([self._mark] * count)

    def connect(self) -> Kept:
        """A connection for one transaction. Leaving it rolls back what is open."""
        return self._kept.connect()

    def begin(self, connection: Kept) -> None:
        """Takes SQLite's write lock at once."""
        connection.begin()

    def close(self) -> None:
        """Lets go of the connection that is kept."""
        self._kept.let_go()

    def read_heads(self, connection: Kept, cases: Sequence[str]) -> dict[str, Head]:
        """The heads of these cases. On PostgreSQL they are locked in order of id: whoever comes second waits."""
        query = self._heads.format(marks=self._marks(len(cases)))
        found = connection.run(query, sorted(cases)).fetchall()
        return {case: Head(seq, hash_, bool(ended)) for case, seq, hash_, ended in found}

    def find(self, connection: Kept, ids: Sequence[str]) -> dict[str, Columns]:
        """Rows that are stored already under these ids."""
        found: dict[str, Columns] = {}
        for start in range(0, len(ids), FIND_AT_ONCE):
            some = tuple(ids[start : start + FIND_AT_ONCE])
            rows = connection.run(_FIND.format(marks=self._marks(len(some))), some).fetchall()
            found.update((row[0], dict(zip(COLUMNS, row, strict=True))) for row in rows)
        return found

    def insert(self, connection: Kept, rows: Sequence[Columns]) -> None:
        connection.run(self._insert, [_in_order(row) for row in rows], many=True)

    def sign(self, heads: Sequence[tuple[str, int, str]]) -> list[str]:
        return self._key.sign_heads(heads)

    def update_heads(self, connection: Kept, heads: Mapping[str, Head]) -> None:
        """Moves the heads on, signed."""
        signatures = self.sign([(case, head.seq, head.hash) for case, head in heads.items()])
        moved = [
            (head.seq, head.hash, signature, head.ended, case)
            for (case, head), signature in zip(heads.items(), signatures, strict=True)
        ]
        connection.run(self._move, moved, many=True)

    def notify(self, connection: Kept, heads: Mapping[str, Head]) -> None:
        """Tells other server processes, when and only when the transaction commits."""
        if self._postgresql:
            for case, head in heads.items():
                connection.run(_NOTIFY, (CHANNEL, f"{case} {head.seq}"))

    def create(self, connection: Kept, new: NewCase) -> bool:
        """Makes a case; False when it is there already."""
        (signature,) = self.sign([(new.case, 0, FIRST)])
        values = (new.case, FIRST, signature, stored_moment(utc_now(), self._dialect), new.ref, new.room_id)
        return bool(connection.run(self._create, values).rowcount == 1)

    def commit(self, connection: Kept) -> None:
        connection.commit()


def append(steps: Steps, prepared: Sequence[Prepared]) -> list[Outcome]:
    """Appends entries of any number of cases in one transaction; gives one outcome each, in their order.

    Refuses alone what is malformed, of an unknown case, or of another content under a known id. Raises what the
    database raises; nothing is stored then, unless the commit had acted and only its answer was lost.
    """
    outcomes: list[Outcome | None] = [None] * len(prepared)
    sound: list[tuple[int, Columns]] = []
    for place, one in enumerate(prepared):
        try:
            sound.append((place, to_columns(one)))
        except DoorsideError as error:
            outcomes[place] = Outcome(one.tap.id, "refused", error=error)
    if sound:
        with steps.connect() as connection:
            steps.begin(connection)
            heads = steps.read_heads(connection, list({columns["case_id"] for _, columns in sound}))
            known = steps.find(connection, [columns["id"] for _, columns in sound])
            rows, moved = [], {}
            for place, columns in sound:
                outcome = outcomes[place] = _place(columns, heads, known)
                if outcome.status == "stored":
                    rows.append(known[columns["id"]])
                    moved[columns["case_id"]] = heads[columns["case_id"]]
            if rows:
                steps.insert(connection, rows)
                steps.update_heads(connection, moved)
                steps.notify(connection, moved)
            steps.commit(connection)
    return [outcome for outcome in outcomes if outcome is not None]


def _place(columns: Columns, heads: Mapping[str, Head], known: dict[str, Columns]) -> Outcome:
    """Gives an entry its place after the head, which moves on; or says why it gets none."""
    id_, case = columns["id"], columns["case_id"]
    if (stored := known.get(id_)) is not None:
        if same_sent(columns, stored):
            return Outcome(id_, "already", to_entry([stored[name] for name in COLUMNS]))
        return Outcome(id_, "refused", error=_other_content(stored["case_id"] == case))
    if (head := heads.get(case)) is None:
        return Outcome(id_, "refused", error=_no_case())
    row = known[id_] = placed(columns, seq=head.seq + 1, prev=head.hash)
    head.seq, head.hash = row["seq"], row["hash"]
    if row["kind"] == "case.close":
        head.ended = True
    elif row["kind"] == "tap.void":  # it may be the closing that is voided: let the fold decide
        head.ended = False
    return Outcome(id_, "stored", to_entry(_in_order(row)))


def _other_content(same_case: bool) -> Conflict:
    where = "" if same_case else " in another case"
    return Conflict(
        f"Another entry is stored under this id{where}.",
        holds="The stored one stands as it was.",
        do="Tap again: a new tap gets a new id.",
    )


def _no_case() -> Unknown:
    return Unknown("There is no such case.", holds="That entry was not stored.", do="Open the case first.")


def create_case(steps: Steps, new: NewCase) -> Status:
    """Makes a case: `stored` when it is new, `already` when it was there.

    Raises NotValid for an id or a name that cannot be stored, and what the database raises.
    """
    if not new.case or not storable(new.case) or not storable(new.ref or "") or not storable(new.room_id or ""):
        raise NotValid("The id or the name of a case cannot be stored.", holds="No case was made.")
    with steps.connect() as connection:
        steps.begin(connection)
        made = steps.create(connection, new)
        steps.commit(connection)
    return "stored" if made else "already"
