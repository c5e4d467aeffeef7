"""A week of an invented plant for the tests of the drawings. No number here says anything about a real line."""

from datetime import datetime
from random import Random
from zoneinfo import ZoneInfo

from dashboard.charts.plant import Branch, Plant, Station, Store
from dashboard.charts.week import Day, Figure, Limits, MachineTrace, StoreTrace, Week, days_between, week_data

WEEK_S = 7 * 86400.0
HOUR = 3600.0

PLANT = Plant(
    (
        Station("furnace", "furnace", (), ("bath",)),
        Station("caster", "caster", ("bath",), ("cast coils",), thickness_mm=8.2),
        Station("mill", "mill", ("cast coils",), ("cooling store",), thickness_mm=0.7),
        Station("slitter", "slitter", ("cooling store",), ("rings",), thickness_mm=0.7),
        Station("gutter cutter", "cutter", ("rings",), ("gutter blanks",)),
        Station("gutter profiler", "profiler", ("gutter blanks",), ("gutters",)),
        Station("box cutter", "cutter", ("rings",), ("box blanks",)),
        Station("box profiler", "profiler", ("box blanks",), ("box gutters",)),
        Station("pipe line", "profiler", ("rings",), ("pipes",)),
        Station("sheet line", "cutter", ("cooling store",), ("coil and sheet",)),
    ),
    (
        Store("bath", "metal", 26, heel=13, digits=1),
        Store("cast coils", "coils", 46, title="Cast store"),
        Store("cooling store", "coils", 64, rests=True),
        Store("rings", "coils"),
        Store("gutter blanks", "pieces", 60),
        Store("gutters", "pieces"),
        Store("box blanks", "pieces", 60),
        Store("box gutters", "pieces"),
        Store("pipes", "pieces"),
        Store("coil and sheet", "coils"),
    ),
    (
        Branch("rings", "Rings and coil, sold", "ring", "269 ± 7 t/week"),
        Branch("gutter profiler", "Gutter line", "half-round gutter", "167 ± 6 t/week"),
        Branch("box profiler", "Box gutter line", "box gutter", "50 ± 3 t/week"),
        Branch("pipe line", "Pipe line", "pipe", "72 ± 2 t/week"),
        Branch("sheet line", "Wide sheet line", "sheet", "62 ± 3 t/week"),
    ),
)

DAYS: list[Day] = days_between(datetime(2026, 11, 16, tzinfo=ZoneInfo("Europe/Vienna")), WEEK_S)


def _shift(name: str, hours: tuple[float, float], mix: dict[str, tuple[float, float]], seed: int) -> MachineTrace:
    """Return a machine that is manned on weekdays between two hours and does a mix of things meanwhile."""
    random = Random(seed)
    start: list[float] = []
    end: list[float] = []
    state: list[str] = []
    reason: list[str] = []

    def add(until: float, what: str, why: str = "") -> None:
        begin = end[-1] if end else 0.0
        if until > begin:
            start.append(begin)
            end.append(min(until, WEEK_S))
            state.append(what)
            reason.append(why)

    for day in range(7):
        opens, shuts = (day * 24 + hours[0]) * HOUR, (day * 24 + hours[1]) * HOUR
        add(opens, "closed")
        while day < 5 and (end or [0.0])[-1] < shuts:
            add(min(shuts, (end or [0.0])[-1] + random.expovariate(1 / (2.6 * HOUR))), "running")
            what = random.choice([key for key in mix if mix[key][0] > random.random()] or ["running"])
            add(min(shuts, end[-1] + mix.get(what, (0, 0.4))[1] * random.uniform(0.5, 1.5) * HOUR), what, "crane")
    add(WEEK_S, "closed")
    return MachineTrace(name, 1, start, end, state, [], reason)


def _caster() -> MachineTrace:
    cuts = [0, 8, 17, 71.5, 75, 97, 102, 106, 114.5, 136, 139, 142.5, 146, 168]
    what = ["blocked", "setup", "running", "down", "running", "running", "blocked", "setup", "running", "running"]
    what += ["down", "running", "blocked"]
    slowed = [i in (5, 9, 11) for i in range(13)]
    return MachineTrace("caster", 1, [c * HOUR for c in cuts[:-1]], [c * HOUR for c in cuts[1:]], what, slowed)


def machines() -> list[MachineTrace]:
    """Return the states of every machine of the plant and of the person in the roll shop."""
    work = {"setup": (0.8, 0.7), "waiting": (0.4, 0.3), "down": (0.25, 0.7)}
    mill = {"changing_rolls": (0.5, 0.6), "blocked": (0.5, 2.5), "down": (0.3, 1.2), "waiting": (0.12, 9.0)}
    return [
        MachineTrace("furnace", 1, [0.0], [WEEK_S], ["running"]),
        _caster(),
        _shift("mill", (0.0, 24.0), mill, 7),
        _shift("mill roll shop", (6, 14), {"starved": (0.4, 1.0)}, 11),
        _shift("slitter", (6, 22), work, 3),
        _shift("gutter cutter", (6, 22), {"starved": (0.5, 1.0)}, 4),
        _shift("gutter profiler", (6, 22), {"starved": (0.5, 1.6), "down": (0.4, 0.6), "setup": (0.4, 1.4)}, 5),
        _shift("box cutter", (6, 14), {"starved": (0.9, 3.0)}, 12),
        _shift("box profiler", (6, 14), {"starved": (0.9, 5.0)}, 6),
        _shift("pipe line", (6, 22), {"setup": (0.3, 1.8), "down": (0.2, 0.5)}, 8),
        _shift("sheet line", (6, 14), {"starved": (1.0, 7.0)}, 9),
    ]


def _walk(first: float, low: float, high: float, step_h: float, seed: int) -> tuple[list[float], list[float]]:
    random = Random(seed)
    time, level = [0.0], [first]
    while time[-1] + step_h * HOUR < WEEK_S:
        time.append(time[-1] + step_h * HOUR * random.uniform(0.4, 1.6))
        drift = 0.35 if time[-1] < 0.55 * WEEK_S else -0.05
        level.append(min(high, max(low, level[-1] + random.choice([-1.0, 1.0, drift, -1.0 if drift < 0 else 0.0]))))
    return time, [float(round(value)) for value in level]


def stores() -> list[StoreTrace]:
    """Return the levels of the stores that are drawn."""
    cast, cool, ring = _walk(46, 24, 46, 0.9, 21), _walk(64, 30, 64, 0.6, 22), _walk(20, 0, 60, 0.5, 23)
    ready = [max(0.0, level - 16 + 4 * (i % 3)) for i, level in enumerate(cool[1])]
    bath = [i * 2.0 * HOUR for i in range(85)]
    blanks = [i * 0.5 * HOUR for i in range(337)]
    return [
        StoreTrace("bath", bath, [18.0 + 6.0 * (i % 2) + (i % 5) * 0.3 for i in range(85)], linear=True),
        StoreTrace("cast coils", *cast),
        StoreTrace("cooling store", *cool, ready=ready),
        StoreTrace("rings", *ring),
        StoreTrace("gutter blanks", blanks, [30.0 + 20.0 * (i % 2) for i in range(337)], linear=True),
    ]


def week() -> Week:
    """Return the packed week."""
    changes = [0.0, 12 * HOUR, 26 * HOUR, 26.1 * HOUR, 60 * HOUR, 60.1 * HOUR, WEEK_S]
    figures = [
        Figure("caster", [0.0], words=["5.7 t/h, 8.2 mm"]),
        Figure("mill", changes, [20.0, 35.0, 57.0, 0.0, 57.0, 0.0, 48.0], form="{} of 57 km"),
        Figure("slitter", [0.0, 40 * HOUR, 80 * HOUR], words=["3 × 333 mm", "5 × 200 mm", "2 × 500 mm"]),
        Figure("gutter profiler", [0.0, 30 * HOUR], words=["23 rings wait", "12 rings wait"]),
        Figure("box profiler", [0.0], words=["0 rings wait"]),
        Figure("pipe line", [0.0], words=["3 rings wait"]),
    ]
    limits = Limits(
        [0.0, 79.6 * HOUR, 81.3 * HOUR, 86.3 * HOUR, 104.6 * HOUR, 117.7 * HOUR],
        ["slitter", "mill roll shop", "slitter", "mill roll shop", "slitter", "mill"],
    )
    return week_data(
        PLANT,
        clock=(0.0, WEEK_S),
        days=DAYS,
        machines=machines(),
        stores=stores(),
        figures=figures,
        limits=limits,
    )
