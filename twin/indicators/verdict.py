"""The answer in one plain sentence: what the line makes, and what holds it back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from twin.words import NO_BREAK, half_width, number, places_alone, places_for, plain, share

WEEK_H = 168.0

SECOND_LIMIT = 0.2  # a second station that holds the line so often is named beside the first
NO_LIMIT = 0.05  # below this nobody holds the line for long


@dataclass(frozen=True, slots=True)
class Part:
    """A stretch of a sentence: `strong` is what it is about, `soft` the half-width after it."""

    text: str
    strong: bool = False
    soft: bool = False


@dataclass(frozen=True, slots=True)
class Verdict:
    """A sentence in parts, and the line below that says how sure it is."""

    parts: tuple[Part, ...]
    sure: str

    @property
    def text(self) -> str:
        """Return the sentence without marks."""
        return "".join(part.text for part in self.parts)


def verdict(results: Mapping[str, Any]) -> Verdict:
    """Return the sentence on top of the results of a run."""
    return Verdict((*_makes(results), *_holds(results)), how_sure(results))


def _makes(results: Mapping[str, Any]) -> list[Part]:
    """Say how much the line makes, in t/week."""
    good = results["line"]["good"]
    mean, half = good["mean"] * WEEK_H, half_width(good)
    if half is None:
        return [Part("The line makes "), Part(number(mean), strong=True), Part(f"{NO_BREAK}t/week.")]
    places = places_for(half * WEEK_H) if half else places_alone(mean)
    off = number(half * WEEK_H, places=places)
    return [
        Part("The line makes "),
        Part(plain(mean, places), strong=True),
        Part(f"{NO_BREAK}±{NO_BREAK}{off}", soft=True),
        Part(f"{NO_BREAK}t/week."),
    ]


def _holds(results: Mapping[str, Any]) -> list[Part]:
    """Say what holds it and for how much of the time."""
    found = {name: row["share"]["mean"] for name, row in results["bottleneck"].items()}
    ranked = sorted(((part, name) for name, part in found.items() if part is not None), reverse=True)
    if not ranked:
        return []
    (most, first), (less, second) = ranked[0], ranked[1] if len(ranked) > 1 else (0.0, "")
    if most < NO_LIMIT:
        return [Part(" Nothing in it holds it back for long.")]
    parts = [Part(" "), Part(_upper(called(first, results)), strong=True), Part(" holds it for ")]
    parts += _part_of_time(results["bottleneck"][first]["share"])
    if less < SECOND_LIMIT:
        return [*parts, Part(" of the time.")]
    return [
        *parts,
        Part(" of the time and "),
        Part(called(second, results), strong=True),
        Part(" for "),
        *_part_of_time(results["bottleneck"][second]["share"]),
        Part(": free one, and the other takes over."),
    ]


def _part_of_time(found: Mapping[str, Any]) -> list[Part]:
    """Write a share of the time in whole per cent, with its half-width where it has one."""
    half = half_width(found)
    if half is None or 100.0 * half < 0.5:
        return [Part(share(found["mean"]))]
    mean, off = (plain(100.0 * value) for value in (found["mean"], half))
    return [Part(mean), Part(f"{NO_BREAK}±{NO_BREAK}{off}", soft=True), Part(f"{NO_BREAK}%")]


def called(limit: str, results: Mapping[str, Any]) -> str:
    """Return a station as a sentence calls it; the one roll shop of a line needs no name."""
    shops = [name for name in results["bottleneck"] if name.endswith("roll shop")]
    return "the roll shop" if shops == [limit] else f"the {limit}"


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def how_sure(results: Mapping[str, Any]) -> str:
    """Say on how many runs of what length the numbers rest."""
    length = length_in_words(results["length_h"])
    warm_up = f" after {length_in_words(results['warm_up_h'])} of warm-up" if results["warm_up_h"] else ""
    if results["runs"] == 1:
        return f"One simulated run of {length}{warm_up}: no interval, as one run does not show its own scatter."
    return f"{results['runs']} simulated runs of {length} each{warm_up}, 95{NO_BREAK}% interval."


def length_in_words(hours: float) -> str:
    """Write a length of time in whole weeks or days where it is so, else in hours."""
    for name, size in (("week", WEEK_H), ("day", 24.0)):
        count = hours / size
        if count >= 1.0 and abs(count - round(count)) < 1e-9:
            return f"{plain(count)}{NO_BREAK}{name}{'' if round(count) == 1 else 's'}"
    return f"{plain(hours, places_alone(hours))}{NO_BREAK}h"
