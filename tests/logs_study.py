"""How well the doctor finds planted faults: recall and precision over many dirty logs of an invented plant."""

import sys
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from twin.line import simulate
from twin.logs.dirt import PLANTERS, dirty
from twin.logs.doctor import examine
from twin.logs.scoring import BY_STATION, Score, score
from twin.logs.tables import Log
from twin.logs.write import log_of
from twin.scenario import Scenario, apply_set, load

ROOT = Path(__file__).parents[1]
# Not together: a doctor who refuses a unit looks no further at those masses, two copies of one row confuse the truth,
# times in round figures hide which short stops are missing, and planned work is planted at the true time of day.
APART = (
    ("unit", "tare", "genealogy", "mass closure", "clock order"),
    ("repeat", "version", "conflict", "production day"),
    ("clock", "clock order", "production day"),
    ("rounding", "minor stops"),
    ("planned", "like a plan", "rounding", "clock"),
)


def clean_log(days: int, run: int = 0, name: str = "hollin_weir") -> tuple[Log, Scenario]:
    """Return so many days of log of a demo plant."""
    scenario = apply_set(load(ROOT / "scenarios" / f"{name}.yaml"), "time.length", f"{days} days")
    trace = simulate(scenario, run=run, trace=True, clock="compiled").trace
    assert trace is not None
    return log_of(trace, scenario), scenario


def drawn_kinds(rng: np.random.Generator) -> Sequence[str]:
    """Draw up to five kinds of fault that can stand together."""
    kinds = list(rng.choice(np.array(list(PLANTERS), dtype=object), size=5, replace=False))
    for rivals in APART:
        both = [one for one in kinds if one in rivals]
        kinds = [one for one in kinds if one not in both[1:]]
    return kinds


def scores(logs: int, days: int = 20, *, seed: int = 2026, name: str = "hollin_weir") -> dict[str, Score]:
    """Return recall and precision of each kind of fault over many dirty logs of a plant."""
    total: dict[str, Score] = {}
    for number in range(logs):
        if number % 20 == 0:
            log, scenario = clean_log(days, run=seed + number // 20, name=name)
        kinds = drawn_kinds(np.random.default_rng((seed, number)))
        soiled, planted = dirty(log, scenario, kinds, seed=1000 * seed + number)
        found = examine(soiled, scenario).findings
        for kind, one in score(planted, found, PLANTERS).items():
            total[kind] = total.get(kind, Score()) + one
    return total


if __name__ == "__main__":
    asked = sys.argv[1:] + ["200", "2026", "hollin_weir"][len(sys.argv) - 1 :]
    for kind, one in scores(int(asked[0]), seed=int(asked[1]), name=asked[2]).items():
        what = "stations" if kind in BY_STATION else "rows"
        sys.stdout.write(f"| {kind} | {one.planted} {what} | {one.recall:.3f} | {one.precision:.3f} |\n")
