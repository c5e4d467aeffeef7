"""The scenario files of the folder: which there are, and each read anew only when it has changed."""

from __future__ import annotations

import threading
from dataclasses import dataclass
from pathlib import Path

from dashboard.ask import Ask, AskError
from dashboard.settings import plant_files
from twin.scenario import Scenario, apply_options, load


@dataclass(frozen=True, slots=True)
class Opened:
    """A plant as the page asks for it."""

    plant: str
    file: Path
    base: Scenario
    scenario: Scenario


class Plants:
    """All plants that can be chosen; ``folder`` is a scenario file, a folder of them, or None."""

    def __init__(self, folder: Path | None) -> None:
        self.folder = folder
        self._lock = threading.Lock()
        self._read: dict[Path, tuple[tuple[int, int], Scenario]] = {}
        self._made: dict[tuple[str, tuple[str, ...]], Scenario] = {}

    def names(self) -> list[str]:
        """Return the names of the plants, in order."""
        return list(plant_files(self.folder))

    def chosen(self, ask: Ask) -> str:
        """Return the plant that is asked for, the first one when none is named, "" when there is none.

        Raises
        ------
        AskError : no file of that name is in the folder.
        """
        names = self.names()
        if not ask.plant:
            return names[0] if names else ""
        if ask.plant not in names:
            there = f"there are {', '.join(names)}" if names else "the folder has no scenario file"
            raise AskError(f"plant is {ask.plant!r}: {there}")
        return ask.plant

    def base(self, plant: str) -> Scenario:
        """Return the plant as its file says, read anew when the file has changed. Raises ScenarioError."""
        file = plant_files(self.folder)[plant]
        stat = file.stat()
        stamp = (stat.st_mtime_ns, stat.st_size)
        with self._lock:
            known = self._read.get(file)
            if known is None or known[0] != stamp:
                known = (stamp, load(file))
                self._read[file] = known
            return known[1]

    def open(self, ask: Ask) -> Opened | None:
        """Return the plant with the options asked for; None when there is no plant at all.

        Raises
        ------
        AskError : no such plant or option.
        ScenarioError : the file has faults, or the options contradict each other.
        """
        plant = self.chosen(ask)
        if not plant:
            return None
        base = self.base(plant)
        unknown = [name for name in ask.options if name not in base.options]
        if unknown:
            there = ", ".join(base.options) or "none"
            raise AskError(f"options name {unknown[0]!r}: {plant} has {there}")
        return Opened(plant, plant_files(self.folder)[plant], base, self._with_options(base, ask.options))

    def _with_options(self, base: Scenario, options: tuple[str, ...]) -> Scenario:
        if not options:
            return base
        with self._lock:
            key = (base.digest, options)
            if key not in self._made:
                if len(self._made) > 100:
                    self._made.clear()
                self._made[key] = apply_options(base, list(options))
            return self._made[key]
