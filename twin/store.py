"""Results that are kept: by scenario, seed, number of runs and version, so that nothing is worked out twice.

SQLite in one file unless another address is given; any database that SQLAlchemy knows will do. A write
that was acknowledged is on the disk.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import (
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
from sqlalchemy.exc import DatabaseError

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
