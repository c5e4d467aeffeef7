"""What the rolls of a mill are like, in the units of a planner: kilometres, and minutes of the mill."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf

from twin.line.steered import Steered
from twin.scenario import Scenario
from twin.scenario.models import Rolls
from twin.study.life import law_of
from twin.study.lifelaws import LifeLaw, LognormalLife
from twin.study.rollarcs import Wear
from twin.study.rollnow import rolls_of

WEEK_S = 7 * 86400.0
KM = 1e3
MINUTE_S = 60.0
UNKNOWN_KG = 5000.0  # of a coil, where a mill winds none
NO_LAW = "the file says nothing of how rolls are damaged"


@dataclass(frozen=True)
class Rolled:
    """What a usual coil is to a mill.

    Attributes
    ----------
    km : Strip through the bite. [km]
    seconds : Time it takes. [s]
    kilograms : Mass that enters.
    """

    km: float
    seconds: float
    kilograms: float


@dataclass(frozen=True)
class Facts:
    """The rolls of a mill.

    Attributes
    ----------
    coil : A usual coil.
    law : Life until damage, in km; None where it is not known, and `unknown` says why.
    limit : Distance after which a set comes off; infinite where there is none. [km]
    planned, damaged : What a change costs, planned and after damage, with slower first coils and scrap. [min]
    change, damaged_change : The change alone. [min]
    """

    coil: Rolled
    law: LifeLaw | None
    unknown: str
    limit: float
    planned: float
    damaged: float
    change: float
    damaged_change: float

    def wear(self) -> Wear:
        """Return the same as the arcs of a plan need it, in hours."""
        return Wear(self.law, self.limit, self.planned / 60.0, self.damaged / 60.0)


def usual_coil(scenario: Scenario, mill: str, *, seed: int = 2026) -> Rolled:
    """Return a usual coil, from an ordinary week of a run."""
    run = Steered(scenario, mill, seed=seed, run=0)
    model = run.model
    run.run_to(model.warm_up)
    run.count()
    run.run_to(min(model.end, model.warm_up + WEEK_S))
    run.book()
    seen = run.work()
    if seen.metres <= 0.0 or seen.kilograms <= 0.0:
        return Rolled(1.0, 1800.0, 5000.0)
    coils = seen.coils or max(1.0, seen.kilograms / UNKNOWN_KG)
    return Rolled(seen.metres / coils / KM, seen.seconds / coils, seen.kilograms / coils)


def facts_of(scenario: Scenario, mill: str, *, seed: int = 2026) -> Facts:
    """Return what the rolls of a mill are like."""
    rolls, coil = rolls_of(scenario, mill), usual_coil(scenario, mill, seed=seed)
    law, unknown = _law(rolls, coil)
    extra = _first_coil(rolls, coil)
    planned = rolls.change.average + extra
    damaged = rolls.damaged_change.average + extra + _to_roll(rolls.damage_scrap.average, coil)
    return Facts(
        coil,
        law,
        unknown,
        limit_of(rolls, coil),
        planned / MINUTE_S,
        damaged / MINUTE_S,
        rolls.change.average / MINUTE_S,
        rolls.damaged_change.average / MINUTE_S,
    )


def limit_of(rolls: Rolls, coil: Rolled) -> float:
    """Return the distance after which a set comes off. [km]"""
    if rolls.change_after is None:
        return inf
    value = rolls.change_after.value
    return value / KM if rolls.change_after.dimension == "length" else value * coil.km / coil.kilograms


def _first_coil(rolls: Rolls, coil: Rolled) -> float:
    """Return what fresh rolls cost at their first coil: slower rolling, and scrap that must be rolled again. [s]"""
    if rolls.first_coil is None:
        return 0.0
    return (rolls.first_coil.slower - 1.0) * coil.seconds + _to_roll(rolls.first_coil.scrap.average, coil)


def _to_roll(kilograms: float, coil: Rolled) -> float:
    """Return how long the mill needs for a mass. [s]"""
    return kilograms * coil.seconds / coil.kilograms


def _law(rolls: Rolls, coil: Rolled) -> tuple[LifeLaw | None, str]:
    """Return the law of the life in km, or why there is none to plan by."""
    if rolls.damage is None:
        return None, NO_LAW
    try:
        law = law_of(rolls.damage)
    except ValueError as fault:
        return None, str(fault)
    per = {"length": 1.0 / KM, "mass": coil.km / coil.kilograms, "time": coil.km / coil.seconds}
    return _in_km(law, per[rolls.damage.dimension]), ""


def _in_km(law: LifeLaw, factor: float) -> LifeLaw:
    name = "median" if isinstance(law, LognormalLife) else "scale"
    return replace(law, **{name: law.parameters[name] * factor})
