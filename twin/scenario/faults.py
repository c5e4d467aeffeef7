"""What is wrong with an input: where, what was given, what would do, and the way out."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong with one value, before its place in a file is known.

    ``within`` is the path below the value that was looked at, so that a bad mean inside a law is named itself.
    """

    message: str
    value: str = ""
    limit: str = ""
    way_out: str = ""
    within: tuple[str | int, ...] = ()

    def below(self, *keys: str | int) -> Problem:
        """Return the same problem, seen from ``keys`` higher up."""
        return Problem(self.message, self.value, self.limit, self.way_out, (*keys, *self.within))


Path = tuple[str | int, ...]
"""Where a value stands among the values of a file: keys, and numbers from 0 within lists."""
Placed = tuple[Path, Problem]
"""A problem and the path of the value it is about."""


class Refusal(ValueError):
    """A value that cannot be taken, with every problem that was found in it."""

    def __init__(self, *problems: Problem) -> None:
        self.problems = problems
        super().__init__("; ".join(problem.message for problem in problems))


def refuse(
    message: str, *, value: object = "", limit: str = "", way_out: str = "", within: tuple[str | int, ...] = ()
) -> Refusal:
    """Return (for raising) the refusal of one value."""
    return Refusal(Problem(message, shorten(value), limit, way_out, within))


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault of a scenario, told so that it can be put right without reading the program."""

    file: str
    line: int
    place: str
    value: str
    limit: str
    way_out: str
    message: str

    def __str__(self) -> str:
        """Return the fault on one line: file, line, place, what is wrong, the way out."""
        where = f"{self.file}:{self.line}" if self.line else self.file
        tail = f". {self.way_out}" if self.way_out else ""
        return ": ".join(word for word in (where, self.place, self.message) if word) + tail


class ScenarioError(ValueError):
    """A scenario that cannot be used, with all its faults in the order of the file."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))

    def __reduce__(self) -> tuple[type[ScenarioError], tuple[tuple[Fault, ...]]]:
        """Let it come back whole from another process."""
        return type(self), (self.faults,)


def shorten(value: object, length: int = 60) -> str:
    """Return a value as short text for a message: a page-long value must not fill the screen."""
    text = value if isinstance(value, str) else f"{value}"
    text = " ".join("".join(sign if sign.isprintable() else " " for sign in text[: 4 * length]).split())
    return text if len(text) <= length else text[: length - 3] + "..."


def nearest(word: str, known: Iterable[str]) -> str:
    """Return the known word nearest to ``word``, or an empty text when none is near."""
    choices = {name.casefold(): name for name in known}
    found = get_close_matches(word.casefold()[:80], choices, n=1, cutoff=0.6)
    return choices[found[0]] if found else ""


def did_you_mean(word: str, known: Iterable[str], what: str = "") -> str:
    """Return the way out for a misspelt word: the nearest known one, else all of them."""
    names = list(known)
    near = nearest(word, names)
    if near:
        return f"Did you mean '{near}'?"
    if not names:
        return f"There is no {what} in the file yet" if what else ""
    listed = ", ".join(names[:12]) + (", ..." if len(names) > 12 else "")
    return f"Known {what or 'words'}: {listed}"
