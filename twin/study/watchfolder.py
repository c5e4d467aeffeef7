"""A folder in which the plant puts its logs, looked at again and again; nothing is ever written into it.

A log is taken in when it has stopped growing, in a process of its own, which a bad file can neither slow down nor
bring down with it.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from multiprocessing.connection import Connection
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from multiprocessing.process import BaseProcess

    from twin.study.watchdays import How

LOOK_S = 10.0  # between two looks
QUIET_S = 10.0  # a log must have stayed as it is for so long: whoever writes it may not be done
KEPT_NOTES = 100
MOST_LOGS = 1000  # of one folder
FILES = (".csv", ".parquet", ".xlsx", ".yaml")
UNFINISHED = (".part", ".tmp", ".crdownload", ".filepart")
NICER = 10  # the process that takes logs in gives way to the pages

Signature = tuple[tuple[str, int, int], ...]


@dataclass(frozen=True, slots=True)
class Note:
    """What became of a log.

    Attributes
    ----------
    at : When, in UTC.
    plant, log : File of the plant, and the log's own name in the folder.
    good : Whether it was taken in.
    words : What it brought, or what is wrong with it and the way out.
    """

    at: datetime
    plant: str
    log: str
    good: bool
    words: str


@dataclass(frozen=True, slots=True)
class Found:
    """A log that lies in the folder: the folder itself, a folder in it, or a workbook."""

    place: Path
    signature: Signature


def logs_in(folder: Path) -> tuple[Found, ...]:
    """Return the logs that lie in a folder, by name.

    The folder itself is one if it has files of tables; every folder in it that has some, and every workbook, is one.
    """
    here = _files(folder)
    tables = tuple(own for own in here if not own[0].lower().endswith(".xlsx"))
    if any(own[0].lower().endswith(FILES[:2]) for own in tables):
        return (Found(folder, tables),)
    found = [Found(folder / own[0], (own,)) for own in here if own[0].lower().endswith(".xlsx")]
    for entry in _entries(folder):
        if entry.is_dir(follow_symlinks=False) and not entry.name.startswith("."):
            files = _files(Path(entry.path))
            found += [Found(Path(entry.path), files)] if files else []
    return tuple(sorted(found, key=lambda own: own.place.name)[:MOST_LOGS])


def _files(folder: Path) -> Signature:
    """Return name, size and time of change of the files that may belong to a log."""
    found = []
    for entry in _entries(folder):
        name = entry.name.lower()
        if name.startswith((".", "~$")) or name.endswith(UNFINISHED) or not name.endswith(FILES):
            continue
        try:
            known = entry.stat()
        except OSError:
            continue  # it is gone again
        found.append((entry.name, known.st_size, known.st_mtime_ns))
    return tuple(sorted(found))


def _entries(folder: Path) -> list[os.DirEntry[str]]:
    try:
        with os.scandir(folder) as entries:
            return list(entries)
    except OSError:
        return []  # not there just now, as drives of a network are


def plant_of(log: Path, plants: Sequence[Path]) -> Path | None:
    """Return the plant that a log belongs to: the only one, or that whose file has the name of the log."""
    if len(plants) == 1:
        return plants[0]
    name = log.stem if log.suffix.lower() == ".xlsx" else log.name
    return next((plant for plant in plants if plant.stem.casefold() == name.casefold()), None)


@dataclass
class Folder:
    """What is known of a folder of logs between two looks."""

    path: Path
    quiet_s: float = QUIET_S
    clock: Callable[[], float] = monotonic
    _seen: dict[Path, tuple[Signature, float]] = field(default_factory=dict)
    _done: dict[Path, Signature] = field(default_factory=dict)

    def ready(self) -> Iterator[Found]:
        """Yield the logs that are new or changed and have stayed as they are for a while."""
        now, found = self.clock(), logs_in(self.path)
        self._seen = {own.place: self._since(own, now) for own in found}
        for own in found:
            if self._done.get(own.place) != own.signature and now - self._seen[own.place][1] >= self.quiet_s:
                yield own

    def _since(self, own: Found, now: float) -> tuple[Signature, float]:
        known = self._seen.get(own.place)
        return known if known is not None and known[0] == own.signature else (own.signature, now)

    def done(self, own: Found) -> None:
        """Note that a log needs no look until it changes."""
        self._done[own.place] = own.signature


class Watcher:
    """Looks at a folder of logs in a thread of its own until it is stopped."""

    def __init__(
        self,
        folder: Path,
        plants: Sequence[Path],
        *,
        address: str | None = None,
        tell: Callable[[Note], None] = lambda note: None,
        look_s: float = LOOK_S,
        quiet_s: float = QUIET_S,
        how: How | None = None,
    ) -> None:
        """Prepare to watch; `address` is that of the store, `how` says how forecasts are made."""
        self.folder = Folder(folder, quiet_s)
        self.plants = tuple(plants)
        self._address, self._tell, self._look_s, self._how = address, tell, look_s, how
        self._notes: list[Note] = []
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._watch, name="logs", daemon=True)

    @property
    def notes(self) -> tuple[Note, ...]:
        """Return what became of the last logs, newest last."""
        return tuple(self._notes)

    def start(self) -> None:
        """Begin to look."""
        self._thread.start()

    def stop(self) -> None:
        """End it, with what is under way; an entry of the book is whole or not there."""
        self._stop.set()
        if self._thread.is_alive():
            self._thread.join()

    def look(self) -> None:
        """Take in all logs that are ready."""
        for own in self.folder.ready():
            if self._stop.is_set():
                return
            plant = plant_of(own.place, self.plants)
            if plant is None:
                names = ", ".join(sorted(one.stem for one in self.plants))
                words = f"it is not said whose log this is: name its folder or workbook like one of {names}"
                note = Note(datetime.now(UTC), "", own.place.name, False, words)
            else:
                note = self._take_in(plant, own)
            if self._stop.is_set():
                return
            self.folder.done(own)
            self._notes = [*self._notes, note][-KEPT_NOTES:]
            self._tell(note)

    def _watch(self) -> None:
        while not self._stop.is_set():
            self.look()
            self._stop.wait(self._look_s)

    def _take_in(self, plant: Path, own: Found) -> Note:
        """Have a log taken in by another process, and wait for it or for the end."""
        context = multiprocessing.get_context("spawn")
        here, there = context.Pipe(duplex=False)
        process = context.Process(
            target=_work, args=(there, str(plant), str(own.place), self._address, self._how), daemon=True
        )
        process.start()
        there.close()
        try:
            good, words = self._answer(here, process)
        finally:
            if process.is_alive():
                process.terminate()
            process.join()
            here.close()
        return Note(datetime.now(UTC), plant.name, own.place.name, good, words)

    def _answer(self, here: Connection, process: BaseProcess) -> tuple[bool, str]:
        while not self._stop.is_set():
            if here.poll(0.2):
                try:
                    good, words = here.recv()
                except EOFError:
                    break
                return bool(good), str(words)
        process.join(0.0 if self._stop.is_set() else 5.0)
        return False, f"taking it in ended early (code {process.exitcode}): it is looked at again when it changes"


def _work(answer: Connection, plant: str, log: str, address: str | None, how: How | None) -> None:
    """Take one log in, and answer whether it went well and in which words."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the process that watches
    if hasattr(os, "nice"):
        os.nice(NICER)
    answer.send(taken(Path(plant), Path(log), address, how))
    answer.close()


def taken(plant: Path, log: Path, address: str | None, how: How | None) -> tuple[bool, str]:
    """Take a log into the book of its plant; return whether it went well, and what is to be said."""
    from twin.logs import LogError
    from twin.scenario import ScenarioError, load
    from twin.store import Store, StoreError
    from twin.study.scorebook import Scorebook
    from twin.study.watchdays import How, take_in

    try:
        scenario = load(plant)
        store = Store(address)
        try:
            return True, take_in(scenario, log, Scorebook(store, scenario.name), how or How()).words
        finally:
            store.close()
    except (LogError, ScenarioError, StoreError, OSError) as fault:
        return False, _within(str(fault), log)
    except Exception as fault:  # a log must not end the watching, whatever is in it
        return False, f"this is a fault of passline, not of your log: {type(fault).__name__}: {fault}"


def _within(text: str, log: Path) -> str:
    """Return a fault with its files named from the log on, as on the pages nobody needs to know more."""
    return text.replace(f"{log.parent}{os.sep}", "")
