"""Results that are kept and found again."""

import multiprocessing
import os
import signal
import sqlite3
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from keeping import keep_until_killed

from twin.store import Store, StoreError


def result(seed: int = 1, good: float = 3.7) -> dict[str, Any]:
    """Return something like the results of a run."""
    return {"scenario": "A line", "digest": "ab" * 32, "seed": seed, "runs": 20, "line": {"good": {"mean": good}}}


@pytest.fixture
def address(tmp_path: Path) -> str:
    """Return the address of a store that is not there yet."""
    return f"sqlite:///{tmp_path / 'deep' / 'results.db'}"


def test_a_result_is_found_by_its_question(address: str) -> None:
    Store(address).save("run", result())
    again = Store(address)

    assert again.find("run", "ab" * 32, 1, 20) == result()
    assert again.find("run", "ab" * 32, 2, 20) is None
    assert again.find("compare", "ab" * 32, 1, 20) is None


def test_a_question_asked_again_replaces_its_answer(address: str) -> None:
    store = Store(address)
    store.save("run", result(good=1.0))
    number = store.save("run", result(good=2.0))

    assert [saved.id for saved in store.recent()] == [number]
    assert store.load(number)["line"]["good"]["mean"] == 2.0


def test_a_key_tells_apart_what_digest_and_seed_do_not(address: str) -> None:
    store = Store(address)
    store.save("compare", result(good=1.0), key="second slitter")
    store.save("compare", result(good=2.0), key="night shift")

    assert len(store.recent("compare")) == 2
    assert store.find("compare", "ab" * 32, 1, 20, key="night shift") == result(good=2.0)


def test_the_newest_comes_first_and_says_when_in_utc(address: str) -> None:
    store = Store(address)
    numbers = [store.save("run", result(seed)) for seed in range(5)]
    recent = store.recent(limit=3)

    assert [saved.id for saved in recent] == numbers[:1:-1]
    assert abs((datetime.now(UTC) - recent[0].made).total_seconds()) < 60.0


def test_what_is_deleted_is_gone(address: str) -> None:
    store = Store(address)
    number = store.save("run", result())
    store.delete(number)

    with pytest.raises(KeyError, match=f"no result number {number}"):
        store.load(number)


def test_a_file_that_is_no_store_is_refused_by_name(tmp_path: Path) -> None:
    wrong = tmp_path / "notes.txt"
    wrong.write_text("this is not a database, and long enough to be sure of it" * 40, encoding="utf-8")

    with pytest.raises(StoreError, match=r"notes\.txt: cannot be used as a store"):
        Store(f"sqlite:///{wrong}")


def test_the_address_can_come_from_the_environment(address: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PASSLINE_STORE", address)

    assert Store().address == address


def test_what_was_acknowledged_survives_a_kill(address: str, tmp_path: Path) -> None:
    """A process is killed while it writes: every result that it had acknowledged is there, and none is torn."""
    log = tmp_path / "acknowledged"
    writer = multiprocessing.get_context("spawn").Process(target=keep_until_killed, args=(address, str(log)))
    writer.start()
    while not log.exists() or log.stat().st_size < 20:
        writer.join(0.01)
        assert writer.exitcode is None
    assert writer.pid is not None
    os.kill(writer.pid, signal.SIGKILL)
    writer.join()

    acknowledged = [int(line) for line in log.read_text(encoding="utf-8").split("\n")[:-1]]
    store = Store(address)
    assert acknowledged
    assert [seed for seed in acknowledged if store.find("run", "ab" * 32, seed, 20) is None] == []
    store.close()
    with sqlite3.connect(address.removeprefix("sqlite:///")) as file:
        assert file.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    file.close()
