"""Books of the store: entries are added, and nothing that stands in them changes unseen."""

import sqlite3
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from sqlalchemy.exc import IntegrityError

from twin.store import BOOKS, Store
from twin.version import VERSION


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "results.db"


def filled(file: Path) -> Store:
    """Return a store with a book of three entries, and another book."""
    store = Store(f"sqlite:///{file}")
    for day in ("2026-03-02", "2026-03-03", "2026-03-04"):
        store.add("A line", "forecast", day, {"runs": [1.5, 2.5]})
    store.add("Another", "forecast", "2026-03-02", {})
    return store


def test_entries_come_back_in_order_with_what_made_them(file: Path) -> None:
    filled(file).close()
    entries = Store(f"sqlite:///{file}").book("A line")

    assert [entry.day for entry in entries] == ["2026-03-02", "2026-03-03", "2026-03-04"]
    assert entries[0].body == {"runs": [1.5, 2.5]}
    assert {entry.version for entry in entries} == {VERSION}
    assert entries[1].before == entries[0].seal
    assert datetime.now(UTC) - entries[0].made < timedelta(minutes=1)


def test_entries_are_found_by_kind_and_day(file: Path) -> None:
    store = filled(file)
    store.add("A line", "outcome", "2026-03-03", {"actual_t": 9.0})

    assert [entry.kind for entry in store.book("A line", day="2026-03-03")] == ["forecast", "outcome"]
    assert len(store.book("A line", "outcome")) == 1


def test_an_equal_entry_is_added_not_replaced(file: Path) -> None:
    store = filled(file)
    store.add("A line", "forecast", "2026-03-03", {"runs": [1.5, 2.5]})

    assert len(store.book("A line", "forecast", "2026-03-03")) == 2


@pytest.mark.parametrize("statement", ["UPDATE books SET body = '{}'", "DELETE FROM books WHERE number = 2"])
def test_the_database_refuses_to_change_a_book(file: Path, statement: str) -> None:
    store = filled(file)
    with sqlite3.connect(file) as other, pytest.raises(sqlite3.IntegrityError, match="books are only added to"):
        other.execute(statement)
    with pytest.raises(IntegrityError), store._engine.begin() as connection:
        connection.execute(BOOKS.delete())

    assert store.broken_seal("A line") is None


@pytest.mark.parametrize(
    ("statement", "number"),
    [
        ("UPDATE books SET body = '{\"runs\": [1.5, 2.6]}' WHERE number = 2", 2),
        ("UPDATE books SET made = '2026-01-01T00:00:00+00:00' WHERE number = 3", 3),
        ("DELETE FROM books WHERE number = 2", 3),
    ],
)
def test_a_change_by_force_shows(file: Path, statement: str, number: int) -> None:
    """Whoever owns the file can take the guard away; the seals remain."""
    store = filled(file)
    with sqlite3.connect(file) as other:
        other.execute("DROP TRIGGER no_update")
        other.execute("DROP TRIGGER no_delete")
        other.execute(statement)

    assert store.broken_seal("A line") == number
    assert store.broken_seal("Another") is None


def test_many_may_write_at_once(file: Path) -> None:
    def write(day: int) -> str:
        store = Store(f"sqlite:///{file}")
        seal = store.add("A line", "forecast", f"2026-03-{day:02d}", {}).seal
        store.close()
        return seal

    Store(f"sqlite:///{file}").close()
    with ThreadPoolExecutor(4) as several:
        seals = set(several.map(write, range(1, 21)))
    store = Store(f"sqlite:///{file}")

    assert {entry.seal for entry in store.book("A line")} == seals
    assert len(seals) == 20
    assert store.broken_seal("A line") is None


def test_the_moment_is_kept_in_utc(file: Path) -> None:
    local = datetime(2026, 3, 3, 6, 30, tzinfo=timezone(timedelta(hours=1)))
    entry = Store(f"sqlite:///{file}").add("A line", "forecast", "2026-03-03", {}, made=local)

    assert entry.made == local
    assert entry.made.isoformat() == "2026-03-03T05:30:00+00:00"


def test_an_older_store_gets_its_books(file: Path) -> None:
    """A file from a version without books is opened as it is."""
    with sqlite3.connect(file) as old:
        old.execute("CREATE TABLE results (id INTEGER PRIMARY KEY)")

    assert Store(f"sqlite:///{file}").add("A line", "forecast", "2026-03-03", {}).number == 1
