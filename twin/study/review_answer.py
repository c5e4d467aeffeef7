"""What a review of a day says: plain values, from which the command, the page and the sheet of a shift are made.

Masses are in tonnes, times in seconds since 1970 UTC, chances and shares from 0 to 1.
"""

from __future__ import annotations

from dataclasses import dataclass

from twin.indicators.verdict import Verdict

QUANTILES = (0.05, 0.25, 0.5, 0.75, 0.95)
"""Of the fan; the outer two are the band in which nine days of ten end."""


@dataclass(frozen=True, slots=True)
class Expected:
    """What the day should have given, from its morning on, as runs of the model tell.

    Attributes
    ----------
    mean_t, mean_low_t, mean_high_t : Mean of the runs and its 95 % interval.
    low_t, high_t : Between them nine such days of ten end.
    runs_t : Each run's good tonnes, in the order of the runs.
    """

    mean_t: float
    mean_low_t: float
    mean_high_t: float
    low_t: float
    high_t: float
    runs_t: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Fan:
    """Good tonnes cumulated through the day: quantiles of the runs, the replay, and what was booked.

    Attributes
    ----------
    time_s : The moments, from the day's begin to its end, one an hour.
    quantiles_t : For each of QUANTILES the tonnes at each moment.
    actual_t : What was booked until then.
    replay_t : What the line gives with all that was recorded.
    """

    time_s: tuple[float, ...]
    quantiles_t: tuple[tuple[float, ...], ...]
    actual_t: tuple[float, ...]
    replay_t: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class DayEvent:
    """One thing that was recorded of the day, and that can be moved or removed.

    Attributes
    ----------
    number : Its number in `Review.events`, from 0: the name by which `Edit` knows it.
    kind : "stop", "rolls", "setup", "speed", "loss", "staffing", "sequence".
    start_s, end_s : When; both the same for what has no length.
    reason : In the scenario's words.
    file, lines : The records.
    inferred : Whether a time of it was mended.
    value : Share of the standard speed, or of mass lost beyond the standard; 0 for everything else.
    """

    number: int
    kind: str
    station: str
    machine: int
    start_s: float
    end_s: float
    reason: str
    file: str = ""
    lines: tuple[int, ...] = ()
    inferred: bool = False
    value: float = 0.0


@dataclass(frozen=True, slots=True)
class Rung:
    """What one cause took (below 0) or gave.

    Attributes
    ----------
    cause : In words: "mill stop", "pattern setups", "roll changes", "sequence of patterns".
    kind : As of `DayEvent`; "booking" for what was booked on another day than it was made, "start" for the state of the
        line in the morning.
    t : Shapley's share.
    low, high : The least and the most that it is over all orders of counting.
    sample_low, sample_high : 95 % interval of the share, for the runs that were made.
    sure : Chance that its place by size stays, given the quality of the log and the runs; None if not asked.
    largest : Chance that it is the largest cause, given the same; None if not asked.
    minutes : How long its records last together.
    events : Numbers in `Review.events`.
    record : Where it stands: "stops, lines 28 and 40".
    """

    cause: str
    kind: str
    station: str
    t: float
    low: float
    high: float
    sample_low: float
    sample_high: float
    sure: float | None = None
    minutes: float = 0.0
    events: tuple[int, ...] = ()
    record: str = ""
    largest: float | None = None


@dataclass(frozen=True, slots=True)
class Suspect:
    """A record or a group of them that looks wrong, with its effect in tonnes; None where mass says nothing."""

    file: str
    rows: tuple[int, ...]
    what: str
    effect_t: float | None
    kind: str
    station: str = ""
    way_out: str = ""


@dataclass(frozen=True, slots=True)
class Spell:
    """A stretch of one state, in the words of the states; "unrecorded" where nobody wrote anything down."""

    state: str
    reason: str
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True)
class Strip:
    """What one machine did through the day, without gaps."""

    station: str
    machine: int
    spells: tuple[Spell, ...]


@dataclass(frozen=True, slots=True)
class LookAt:
    """One thing worth a look, tied to its evidence."""

    words: str
    evidence: str
    t: float | None
    events: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class StoreNow:
    """What lay in a store at the end of the day, as recorded or as the replay has it; in kg, coils or pieces."""

    store: str
    amount: float
    unit: str
    capacity: float | None
    recorded: bool


@dataclass(frozen=True, slots=True)
class RollsAt:
    """The rolls of a mill at the end of the day; None where it is not known."""

    station: str
    km: float | None
    limit_km: float | None
    ready: int | None
    sets: int | None


@dataclass(frozen=True, slots=True)
class HandOver:
    """What the next shift finds.

    Attributes
    ----------
    stores : What lies where.
    rolls : How far the rolls are.
    standing : Machines that stood at the end of the day: (station, machine, reason, since when [s]).
    good : Good tonnes of the day by product, as booked.
    stops : The longest recorded stops, longest first, as numbers in `Review.events`.
    """

    stores: tuple[StoreNow, ...]
    rolls: tuple[RollsAt, ...]
    standing: tuple[tuple[str, int, str, float], ...]
    good: tuple[tuple[str, float], ...]
    stops: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class LogQuality:
    """How far the day's log can be trusted.

    Attributes
    ----------
    stops, output : Rows of the day.
    inferred : Share of the stopped time of which a time was mended.
    missing : Share of the standstills of which there is no record, by what the coils took.
    durations : By what share recorded durations are usually off, by what the coils took.
    rounding_s : Grid to which times were rounded, 0 for none.
    clock_s : Largest offset between clocks that was mended.
    closure : Metal lost or won between stations, as a share of what went in; None if it cannot be told.
    """

    stops: int
    output: int
    inferred: float
    missing: float
    durations: float
    rounding_s: float
    clock_s: float
    closure: float | None


@dataclass(frozen=True, slots=True)
class Edit:
    """One event of the day otherwise.

    Attributes
    ----------
    event : Its number in `Review.events`.
    remove : It did not happen.
    later_s : It came so much later; below 0 earlier.
    lasts_s : It lasted so long; None as it did.
    """

    event: int
    remove: bool = False
    later_s: float = 0.0
    lasts_s: float | None = None


@dataclass(frozen=True, slots=True)
class WhatIf:
    """The day again with something otherwise.

    Attributes
    ----------
    change_t, low_t, high_t : Against the replay, and the 95 % interval where anything is drawn.
    made_t : What was booked plus the change.
    curve_t : The same cumulated through the day, at the moments of the fan.
    """

    change_t: float
    low_t: float
    high_t: float
    made_t: float
    curve_t: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class FirstSight:
    """What can be said of a day at once, before any cause is looked at.

    Attributes
    ----------
    runs : Runs of the day that it rests on.
    begin_s, end_s, zone : The production day.
    verdict : The sentence on top, and how sure it is.
    actual_t : Good tonnes booked in the day.
    edges_t : Of these, made on another day (above 0), or made in the day and booked later (below 0).
    expected : What the day should have given, from its morning on.
    position : Share of such days that are lower, 0 to 1; the day's place in its distribution.
    signal : Whether it is outside the band in which nine days of ten end.
    days_in : "One day in so many is as far out", on its side.
    fan : The day's curve.
    events : All that was recorded and switched.
    suspect : Records that look wrong, largest effect first.
    recorded, typical : Strips of the recorded day, and of a run in the middle of the distribution.
    hand_over : For the sheet of the shift.
    quality : How good the log is.
    assumed : What had to be assumed, in sentences.
    """

    runs: int
    begin_s: float
    end_s: float
    zone: str
    verdict: Verdict
    actual_t: float
    edges_t: float
    expected: Expected
    position: float
    signal: bool
    days_in: float
    fan: Fan
    events: tuple[DayEvent, ...]
    suspect: tuple[Suspect, ...]
    recorded: tuple[Strip, ...]
    typical: tuple[Strip, ...]
    hand_over: HandOver
    quality: LogQuality
    assumed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Review(FirstSight):
    """The whole answer: the day at first sight, its sentence and its fan gone on with, and its causes.

    Attributes
    ----------
    scenario, digest, seed, version : What made it.
    day : Date on which the production day began, "2026-03-03".
    such : What such days give whatever their morning.
    morning : The rung from there to what was expected of this day: what the state of the line in the morning gave or
        took. such.mean_t + morning.t == expected.mean_t.
    ladder : The causes, largest loss first, then largest gain first... as they are to be drawn, without booking.
    booking : The rung of what was booked on another day; None where it is nothing.
    replay_t : What the line gives with all that was recorded.
    unexplained_t : What is left: actual - edges - replay. It is never shared out.
    exact : Whether the shares were worked out over all orders, or sampled.
    tells : Whether the log is good enough to say which cause was the largest; else `why_not` says why.
    top_sure : Chance that the largest cause is the largest, given the quality of the log and the runs.
    largest : In a sentence, which cause is the largest, or which two it is one of; empty where it cannot be told.
    look_at : At most three things.
    start : The morning in the grammar of `start:`.
    """

    scenario: str
    digest: str
    seed: int
    version: str
    day: str
    such: Expected
    morning: Rung
    ladder: tuple[Rung, ...]
    booking: Rung | None
    replay_t: float
    unexplained_t: float
    exact: bool
    tells: bool
    why_not: str
    top_sure: float | None
    largest: str
    look_at: tuple[LookAt, ...]
    start: dict[str, object]
