"""Lives that end and begin anew: age replacement by downtime, and the expected number of renewals.

References
----------
R. E. Barlow and F. Proschan, Mathematical Theory of Reliability, 1965, chapter 4 (from memory).
D. R. Cox, Renewal Theory, 1962 (from memory).
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import integrate, optimize

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Campaigns:
    """Rolls changed at an age or when damaged, whichever comes first.

    `down` is the share of clock time spent changing, `damaged` the share of changes after damage, `changes` the
    changes in a unit of clock time.
    """

    down: float
    damaged: float
    changes: float


def campaigns(shape: float, scale: float, age: float, planned: float, damage: float) -> Campaigns:
    """Return what changing at this age of use costs in time, for a Weibull life (age may be infinite)."""
    survive = float(np.exp(-((age / scale) ** shape)))
    used, _ = integrate.quad(lambda t: np.exp(-((t / scale) ** shape)), 0.0, min(age, 12.0 * scale))
    change = planned * survive + damage * (1.0 - survive)
    return Campaigns(change / (used + change), 1.0 - survive, 1.0 / (used + change))


def campaigns_of_coils(
    shape: float, scale: float, age: float, planned: float, damage: float, *, coil: float
) -> Campaigns:
    """Return the same where a planned change waits for the end of the coil in hand, `coil` being its length in use.

    The age is a whole number of coils, so a campaign that begins between two coils ends at the age. One that begins
    after damage, somewhere in a coil, ends up to one coil later: that is taken as evenly spread, which is exact as far
    as the chance of damage does not change within one coil.
    """
    later = [campaigns(shape, scale, age + part * coil, planned, damage) for part in (np.arange(40) + 0.5) / 40]
    even = campaigns(shape, scale, age, planned, damage)
    damaged_later = float(np.mean([own.damaged for own in later]))
    share = even.damaged / (1.0 - damaged_later + even.damaged)  # of campaigns that begin after damage
    lasts = (1.0 - share) / even.changes + share * float(np.mean([1.0 / own.changes for own in later]))
    damaged = (1.0 - share) * even.damaged + share * damaged_later
    return Campaigns((planned + (damage - planned) * damaged) / lasts, damaged, 1.0 / lasts)


def best_age(shape: float, scale: float, planned: float, damage: float) -> float:
    """Return the age of use at which changing keeps the share of time spent changing smallest."""
    found = optimize.minimize_scalar(
        lambda age: campaigns(shape, scale, age, planned, damage).down,
        bounds=(0.01 * scale, 3.0 * scale),
        method="bounded",
        options={"xatol": 1e-9 * scale},
    )
    return float(found.x)


def renewals(share_ended: Callable[[Floats], Floats], until: float, steps: int = 4000) -> float:
    """Return the expected number of renewals up to a time, for the distribution of one life.

    Solves M(t) = F(t) + integral of M(t - s) dF(s) with M taken in the middle of each step; the error falls with the
    square of the step.
    """
    ended = share_ended(np.linspace(0.0, until, steps + 1))
    parts = np.diff(ended)
    number, middle = np.zeros(steps + 1), np.zeros(steps)
    for i in range(1, steps + 1):
        known = float(parts[1:i] @ middle[: i - 1][::-1])
        number[i] = (ended[i] + known + parts[0] * number[i - 1] / 2.0) / (1.0 - parts[0] / 2.0)
        middle[i - 1] = (number[i - 1] + number[i]) / 2.0
    return float(number[-1])


def weibull(shape: float, scale: float) -> Callable[[Floats], Floats]:
    """Return the share of Weibull lives that have ended by a time."""
    return lambda time: np.asarray(1.0 - np.exp(-((time / scale) ** shape)), dtype=np.float64)
