"""What is answered about the rolls of a mill: how they live, how far a set should run, which changes come next."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any, Literal

from twin.indicators import Verdict
from twin.indicators.intervals import Interval
from twin.study.rollshop import Stay

Limit = Literal["roll shop", "rolls", "neither"]


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked.

    Attributes
    ----------
    mill : Station whose rolls are planned; None for the first that has rolls.
    days : How far ahead changes are planned. [days]
    runs : Runs of each line in the sweep.
    futures : Futures of the plant from now on.
    distances : Campaigns to sweep; empty for a usual choice around today's and the cheapest. [km]
    earlier : Times of the changes as planned before, from which a new plan does not jump about. [s from now]
    frozen : From now on nothing is laid anew for so long, where there is an earlier plan. [s]
    steady : Price of each half hour by which a change is moved away from the earlier plan. [min of the mill]
    """

    mill: str | None = None
    days: float = 3.0
    runs: int = 20
    futures: int = 200
    distances: tuple[float, ...] = ()
    earlier: tuple[float, ...] = ()
    frozen: float = 4.0 * 3600.0
    steady: float = 0.5

    def __post_init__(self) -> None:
        for name, value, low, high in (
            ("days", self.days, 0.5, 14.0),
            ("runs", self.runs, 2, 10_000),
            ("futures", self.futures, 2, 10_000),
        ):
            if not low <= value <= high:
                raise ValueError(f"{name} is {value:g}, but must lie between {low:g} and {high:g}")


@dataclass(frozen=True, slots=True)
class Life:
    """How rolls live until they are damaged.

    Attributes
    ----------
    law : Its name, nothing where the file tells of no damage or of none that can be planned by (`unknown` says why).
    shape : Above 1 damage gets likelier with distance; None where the law has none.
    scale, mean : Of the life. [km]
    ages, survives : Share of the sets that are undamaged at each distance. [km], [1]
    """

    law: str
    shape: float | None
    scale: float | None
    mean: float | None
    unknown: str
    ages: tuple[float, ...] = ()
    survives: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Age:
    """How far a set should run as far as the mill alone is concerned, in minutes of the mill.

    Attributes
    ----------
    best : Cheapest distance; None where a planned change never pays. [km]
    flat : Distances within 5 % of the cheapest; an end is None where it is open. [km]
    pays, reason : Whether a planned change pays at all, and why.
    planned, damaged : What a change costs with slower first coil and scrap, planned and after damage. [min]
    ages, minutes : Minutes lost for each km at each distance. [km], [min/km]
    today : The same at today's limit; None without a limit. [min/km]
    """

    best: float | None
    flat: tuple[float | None, float | None]
    pays: bool
    reason: str
    planned: float
    damaged: float
    ages: tuple[float, ...] = ()
    minutes: tuple[float, ...] = ()
    today: float | None = None


@dataclass(frozen=True, slots=True)
class Point:
    """The whole line with rolls that are changed after one distance.

    Attributes
    ----------
    distance : After which rolls are changed; None for no limit but damage. [km]
    today : Whether the plant does so now.
    good, change : Good output, and its change against today run by run. [t/week]
    changes, damages : [1/week]
    scrap : Of the whole line. [t/week]
    waits : Time that the mill waits for a roll set. [h/week]
    grinding : Share of the roll shop's open hours in which its people are at work; None without a shop. [1]
    ready : Sets that lie ready, on average; None where sets are unlimited.
    """

    distance: float | None
    today: bool
    good: Interval
    change: Interval
    changes: Interval
    damages: Interval
    scrap: Interval
    waits: Interval
    grinding: Interval | None
    ready: float | None


@dataclass(frozen=True, slots=True)
class Sweep:
    """The whole line against the distance after which rolls are changed.

    Attributes
    ----------
    points : By distance; today's is one of them.
    best : Distance of the most good output; None where that is no limit. [km]
    flat : Lowest and highest distance that are as good as the best, as far as the runs can tell. [km]
    matters : Whether any distance changes the output by more than its own noise and one part in a hundred.
    limit : What loses tonnes at short campaigns: the roll shop that cannot follow, the rolls themselves, or neither.
    said, brief : The same in sentences, and in one.
    """

    points: tuple[Point, ...]
    best: float | None
    flat: tuple[float, float]
    matters: bool
    limit: Limit
    said: str
    brief: str


@dataclass(frozen=True, slots=True)
class Rule:
    """The whole line with another rule for the moment of a change. Units as for `Point`; `name` is in words."""

    name: str
    rule: Any
    today: bool
    good: Interval
    change: Interval
    changes: Interval
    damages: Interval
    waits: Interval
    grinding: Interval | None


@dataclass(frozen=True, slots=True)
class Place:
    """Where a set is now.

    Attributes
    ----------
    number, place : on mill, cooling, waiting, grinding, fitting, heating or ready.
    since : Since when, None where nobody knows; negative. [s from now]
    until : When it leaves that place by itself, where that is settled. [s from now]
    diameter : None where diameters are not kept. [m]
    """

    number: int
    place: str
    since: float | None
    until: float | None
    diameter: float | None
    damaged: bool


@dataclass(frozen=True, slots=True)
class Price:
    """What a change at one time costs beyond the best time.

    Attributes
    ----------
    at : When. [s from now]
    tonnes : Good output lost; infinite where the limit of the rolls or the sets do not allow that time. [t]
    minutes : The same in minutes of the mill. [min]
    risk : Chance that the set on the mill is damaged before. [1]
    """

    at: float
    tonnes: float
    minutes: float
    risk: float


@dataclass(frozen=True, slots=True)
class Change:
    """One of the next changes. Times are seconds from now; `moment` of the answer turns them into local time.

    Attributes
    ----------
    off, on : Numbers of the sets; None where sets are unlimited.
    earliest, latest : The window: a change in it costs less than `Answer.worth_telling` tonnes. [s from now]
    best : [s from now]
    early, late : Price of each half hour before and after the window; `late` is infinite where it is forbidden. [t]
    distance : What the set on the mill will have run at the best time. [km]
    risk, risk_latest : Chance of damage before the best and the latest time, from now on. [1]
    ready : When the set that goes on is ready; negative or None where it is now. [s from now]
    heat_from : When to start heating it at the latest; None where it need not be or is done. [s from now]
    needs : Who and what is needed.
    why : In words.
    prices : Every quarter of an hour from the earliest possible to the latest allowed time.
    fixed : Whether it lies in the frozen zone of an earlier plan.
    """

    off: int | None
    on: int | None
    earliest: float
    best: float
    latest: float
    early: float
    late: float
    distance: float
    risk: float
    risk_latest: float
    ready: float | None
    heat_from: float | None
    needs: tuple[str, ...]
    why: str
    prices: tuple[Price, ...]
    fixed: bool = False


@dataclass(frozen=True, slots=True)
class Checked:
    """The plan simulated: good output of the coming time, against always running to the limit, with the same luck.

    Attributes
    ----------
    good, change : As planned, and against running to the limit. [t]
    hours : Over so many hours from now. [h]
    futures : In so many futures.
    """

    good: Interval
    change: Interval
    hours: float
    futures: int


@dataclass(frozen=True, slots=True)
class Answer:
    """All that is answered.

    Attributes
    ----------
    scenario, digest, seed : Of what, and with which random numbers.
    runs, futures : How many were made.
    station : The mill.
    now : Local time of the plant's state.
    source : Where that state is from, in words.
    days : How far ahead is planned.
    used, limit : What the set on the mill has run, and may run (None without a limit). [km]
    hour_worth : What an hour of the mill in the coming days is worth to the line. [t/h]
    worth_telling : Below this a loss is not told from nothing, and a window is open. [t]
    hour_matters : Whether the hour of the coming changes matters.
    matters : Whether that or the distance after which rolls are changed matters.
    verdict : On top of the page.
    sets, stays : Where each set is now, and from when to when it was and will be where. [s from now]
    changes : The next ones, in order.
    waits : Time that the mill waits for a set in the planned days, if all goes as expected. [h]
    sweep, rules : None and empty if stopped before.
    shop_open : Opening hours of the roll shop: start and end of each. [s from now]
    stopped : Whether it was stopped before all was made.
    """

    scenario: str
    digest: str
    seed: int
    runs: int
    futures: int
    station: str
    now: datetime
    source: str
    days: float
    used: float
    limit: float | None
    life: Life
    age: Age | None
    sweep: Sweep | None
    rules: tuple[Rule, ...]
    sets: tuple[Place, ...]
    stays: tuple[Stay, ...]
    changes: tuple[Change, ...]
    hour_worth: Interval
    worth_telling: float
    hour_matters: bool
    matters: bool
    waits: float
    checked: Checked | None
    verdict: Verdict
    assumed: tuple[str, ...]
    cautions: tuple[str, ...]
    shop_open: tuple[tuple[float, float], ...]
    zone: str = "UTC"
    stopped: bool = False

    def moment(self, seconds: float) -> datetime:
        """Return the local time so many seconds from now, true across a change of the clocks."""
        return (self.now.astimezone(UTC) + timedelta(seconds=seconds)).astimezone(self.now.tzinfo)
