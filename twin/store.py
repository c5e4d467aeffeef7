"""Results that are kept: by scenario, seed, number of runs and version, so that nothing is worked out twice.

SQLite in one file unless another address is given; any database that SQLAlchemy knows will do. A write
that was acknowledged is on the disk.

Beside the results, which an equal question replaces, there are books, to which entries are only ever added: each
is sealed over the one before it, so that a later change anywhere in a book shows.
"""

from __future__ import annotations

import hashlib
import json
import os
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import (
    DDL,
    Column,
    DateTime,
    Engine,
    Integer,
    MetaData,
    Row,
    String,
    Table,
    Text,
    UniqueConstraint,
    create_engine,
    delete,
    event,
    insert,
    select,
)
from sqlalchemy.exc import DatabaseError, IntegrityError

from twin.version import VERSION

ADDRESS = "PASSLINE_STORE"  # environment variable with an address in place of the user's own file

METADATA = MetaData()
RESULTS = Table(
    "results",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("kind", String(20), nullable=False),
    Column("name", String(200), nullable=False),
    Column("digest", String(64), nullable=False, index=True),
    Column("seed", Integer, nullable=False),
    Column("runs", Integer, nullable=False),
    Column("key", String(200), nullable=False),
    Column("version", String(40), nullable=False),
    Column("made", DateTime(timezone=True), nullable=False),
    Column("result", Text, nullable=False),
    UniqueConstraint("kind", "digest", "seed", "runs", "key", "version"),
)
BOOKS = Table(
    "books",
    METADATA,
    Column("number", Integer, primary_key=True),
    Column("book", String(200), nullable=False),
    Column("kind", String(20), nullable=False),
    Column("day", String(10), nullable=False),
    Column("made", String(40), nullable=False),
    Column("version", String(40), nullable=False),
    Column("body", Text, nullable=False),
    Column("before", String(64), nullable=False),
    Column("seal", String(64), nullable=False),
    UniqueConstraint("book", "before"),  # two writers at once cannot both add after the same entry
)
TRIES = 20  # to add to a book that others add to at the same moment
GUARD = "CREATE TRIGGER no_{0} BEFORE {0} ON books BEGIN SELECT RAISE(ABORT, 'books are only added to'); END"
for _change in ("update", "delete"):
    _guard = DDL(GUARD.format(_change))  # type: ignore[no-untyped-call]
    event.listen(BOOKS, "after_create", _guard.execute_if(dialect="sqlite"))


class StoreError(ValueError):
    """The store cannot be opened or read."""


@dataclass(frozen=True, slots=True)
class Saved:
    """What is known of a kept result without reading it."""

    id: int
    kind: str
    name: str
    digest: str
    seed: int
    runs: int
    key: str
    version: str
    made: datetime


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of a book.

    Attributes
    ----------
    number : Grows from entry to entry, over all books.
    kind, day, body : What was entered, and for which day.
    made, version : When it was entered, and by which version of passline.
    before, seal : Seal of the entry before it in the book, and its own over that and all that it says.
    """

    number: int
    book: str
    kind: str
    day: str
    made: datetime
    version: str
    body: dict[str, Any]
    before: str
    seal: str


class Store:
    """The kept results of one user or one plant."""

    def __init__(self, address: str | None = None) -> None:
        """Open the store at an address of SQLAlchemy, or at the user's own place; it is made if it is missing.

        Raises
        ------
        StoreError : there is something else at the address, or it cannot be written.
        """
        self.address = address or os.environ.get(ADDRESS) or _own_address()
        try:
            self._engine = _engine(self.address)
            METADATA.create_all(self._engine)
        except (DatabaseError, OSError, ValueError) as fault:
            raise StoreError(f"{self.address}: cannot be used as a store: {fault}. Give another address") from fault

    def save(self, kind: str, result: Mapping[str, Any], *, key: str = "") -> int:
        """Keep a result and return its number; one that was kept of the same question is replaced.

        `key` tells apart what digest, seed and runs do not, such as the options compared.
        """
        row = {
            "kind": kind,
            "name": str(result["scenario"]),
            "digest": str(result.get("digest", "")),
            "seed": int(result.get("seed", 0)),
            "runs": int(result.get("runs", 0)),
            "key": key,
            "version": VERSION,
        }
        same = [RESULTS.c[name] == value for name, value in row.items() if name != "name"]
        with self._engine.begin() as connection:
            connection.execute(delete(RESULTS).where(*same))
            made = connection.execute(
                insert(RESULTS).values(**row, made=datetime.now(UTC), result=json.dumps(result, allow_nan=False))
            )
            number = made.inserted_primary_key
        return int(number[0]) if number is not None else 0

    def find(self, kind: str, digest: str, seed: int, runs: int, *, key: str = "") -> dict[str, Any] | None:
        """Return the kept result of this version to a question, or nothing."""
        asked = {"kind": kind, "digest": digest, "seed": seed, "runs": runs, "key": key, "version": VERSION}
        with self._engine.connect() as connection:
            text = connection.scalar(
                select(RESULTS.c.result).where(*(RESULTS.c[name] == value for name, value in asked.items()))
            )
        return None if text is None else _read(text)

    def load(self, number: int) -> dict[str, Any]:
        """Return a kept result by its number; KeyError where there is none."""
        with self._engine.connect() as connection:
            text = connection.scalar(select(RESULTS.c.result).where(RESULTS.c.id == number))
        if text is None:
            raise KeyError(f"no result number {number} is kept")
        return _read(text)

    def recent(self, kind: str | None = None, limit: int = 20) -> list[Saved]:
        """Return what was kept last, newest first."""
        columns = [column for column in RESULTS.c if column.name != "result"]
        query = select(*columns).order_by(RESULTS.c.made.desc(), RESULTS.c.id.desc()).limit(limit)
        if kind is not None:
            query = query.where(RESULTS.c.kind == kind)
        with self._engine.connect() as connection:
            return [_saved(row) for row in connection.execute(query)]

    def delete(self, number: int) -> None:
        """Forget a result."""
        with self._engine.begin() as connection:
            connection.execute(delete(RESULTS).where(RESULTS.c.id == number))

    def add(self, book: str, kind: str, day: str, body: Mapping[str, Any], *, made: datetime | None = None) -> Entry:
        """Add an entry to a book and return it; nothing that stands in a book is ever replaced or removed."""
        row = {
            "book": book,
            "kind": kind,
            "day": day,
            "made": (made or datetime.now(UTC)).astimezone(UTC).isoformat(),
            "version": VERSION,
            "body": json.dumps(body, allow_nan=False, sort_keys=True),
        }
        last = select(BOOKS.c.seal).where(BOOKS.c.book == book).order_by(BOOKS.c.number.desc()).limit(1)
        for _ in range(TRIES):
            try:
                with self._engine.begin() as connection:
                    before = connection.scalar(last) or ""
                    sealed = {**row, "before": before, "seal": _seal(before, row)}
                    made_row = connection.execute(insert(BOOKS).values(**sealed)).inserted_primary_key
            except IntegrityError:
                continue  # somebody else was quicker: after his entry, then
            return _entry({**sealed, "number": int(made_row[0]) if made_row is not None else 0})
        raise StoreError(f"{self.address}: too many write into the book '{book}' at once: try again")

    def book(self, book: str, kind: str | None = None, day: str | None = None) -> list[Entry]:
        """Return the entries of a book, oldest first; of one kind or one day if asked."""
        query = select(BOOKS).where(BOOKS.c.book == book).order_by(BOOKS.c.number)
        if kind is not None:
            query = query.where(BOOKS.c.kind == kind)
        if day is not None:
            query = query.where(BOOKS.c.day == day)
        with self._engine.connect() as connection:
            return [_entry(row._mapping) for row in connection.execute(query)]

    def broken_seal(self, book: str) -> int | None:
        """Return the number of the first entry that was changed or lacks the one before it; None if all is well."""
        before = ""
        query = select(BOOKS).where(BOOKS.c.book == book).order_by(BOOKS.c.number)
        with self._engine.connect() as connection:
            for row in connection.execute(query):
                known = row._mapping
                if known["before"] != before or known["seal"] != _seal(before, known):
                    return int(known["number"])
                before = known["seal"]
        return None

    def close(self) -> None:
        """Close all connections."""
        self._engine.dispose()


def _engine(address: str) -> Engine:
    """Return the way to the database; a file of SQLite survives crashes and serves readers while it is written."""
    engine = create_engine(address)
    if engine.dialect.name == "sqlite":
        if engine.url.database not in (None, "", ":memory:"):
            Path(str(engine.url.database)).parent.mkdir(parents=True, exist_ok=True)
        event.listen(engine, "connect", _make_safe)
    return engine


def _make_safe(connection: Any, _: object) -> None:  # noqa: ANN401  a connection of the database's own driver
    """Write ahead and wait for the disk at each commit."""
    cursor = connection.cursor()
    cursor.execute("PRAGMA journal_mode=WAL")
    cursor.execute("PRAGMA synchronous=FULL")
    cursor.execute("PRAGMA busy_timeout=5000")
    cursor.close()


def _own_address() -> str:
    """Return the address of the user's own store, where this system keeps such files."""
    home = Path.home()
    if sys.platform == "win32":
        folder = Path(os.environ.get("LOCALAPPDATA", home / "AppData" / "Local"))
    elif sys.platform == "darwin":
        folder = home / "Library" / "Application Support"
    else:
        folder = Path(os.environ.get("XDG_DATA_HOME", home / ".local" / "share"))
    return f"sqlite:///{folder / 'passline' / 'results.db'}"


def _saved(row: Row[Any]) -> Saved:
    """Return a row without its result; SQLite forgets that times are in UTC."""
    known = dict(row._mapping)
    made = known["made"]
    known["made"] = made.replace(tzinfo=UTC) if made.tzinfo is None else made
    return Saved(**known)


def _read(text: str) -> dict[str, Any]:
    result: dict[str, Any] = json.loads(text)
    return result


def _seal(before: str, row: Mapping[Any, Any]) -> str:
    """Return the seal of an entry: over all that it says, and over the seal before it."""
    said = [before, *(row[name] for name in ("book", "kind", "day", "made", "version", "body"))]
    return hashlib.sha256(json.dumps(said).encode()).hexdigest()


def _entry(row: Mapping[Any, Any]) -> Entry:
    known = {str(name): value for name, value in row.items()}
    return Entry(**known | {"made": datetime.fromisoformat(known["made"]), "body": _read(known["body"])})
