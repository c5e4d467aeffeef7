"""The odds of a change: what it may be worth, over futures drawn from the runs and from the doubt in the inputs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from twin.indicators.intervals import FloatArray
from twin.study.dice import Dice
from twin.study.value import Purchase, Terms, cash_flows, net_present_values, paybacks

FUTURES = 2000
MOST_DRAWS = 400  # of runs in a life; beyond that their scatter has averaged out
TWO_SIDED_95 = 1.959963984540054


@dataclass(frozen=True, slots=True)
class Doubts:
    """How far off the assumed money may be: half-width of a 95 % range as a share. They are assumed, and shown."""

    capex: float = 0.0
    contribution: float = 0.0
    delivery: float = 0.0

    def __post_init__(self) -> None:
        for name in ("capex", "contribution", "delivery"):
            share = getattr(self, name)
            if not 0.0 <= share <= 2.0:
                raise ValueError(f"the doubt in {name} must lie between 0 % and 200 %, not {100 * share:g} %")


NO_DOUBT = Doubts()
USUAL_DOUBT = Doubts(capex=0.15, contribution=0.10, delivery=0.20)


@dataclass(frozen=True, slots=True)
class Odds:
    """What a change may be worth in each of many futures.

    Attributes
    ----------
    value : Net present value. [currency]
    payback : From the order, infinite for never. [years]
    """

    value: FloatArray
    payback: FloatArray

    def pays_back_within(self, years: float) -> float:
        """Return the chance of having the money back within so many years of the order."""
        return float(np.mean(self.payback <= years))


def odds(
    purchase: Purchase,
    gains: FloatArray,
    terms: Terms,
    *,
    run_weeks: float,
    doubts: Doubts = NO_DOUBT,
    lasting: bool = False,
    seed: int = 2026,
    futures: int = FUTURES,
) -> Odds:
    """Return the futures of a purchase.

    A future is a life of the change, put together from as many runs as fill its years; which runs are likely is itself
    uncertain as far as few runs can tell (the Bayesian bootstrap of D. B. Rubin, Annals of Statistics 9, 1981).

    Parameters
    ----------
    gains : Contribution above today's, run by run and stage by stage. [runs, stages], [currency/year]
    run_weeks : Length of a run. [weeks]
    lasting : Runs differ by inputs that stay as they are for life, not by luck that averages out: a future is one run.
    """
    draws = 1 if lasting else round(terms.years * terms.weeks / run_weeks)
    dice = Dice(seed, "futures")
    earned = lives(dice, gains, min(max(draws, 1), MOST_DRAWS), futures)
    worth, price, delay = (factor(dice, one, futures) for one in (doubts.contribution, doubts.capex, doubts.delivery))
    flows = cash_flows(purchase, earned * worth[:, None], terms, price=price, delay=delay)
    return Odds(net_present_values(terms.monthly_rate, flows), paybacks(flows))


def lives(dice: Dice, gains: FloatArray, draws: int, futures: int) -> FloatArray:
    """Return the mean gains of each future's life, put together from so many drawn runs. [futures, stages]"""
    runs = len(gains)
    if runs == 1:
        return np.repeat(gains, futures, axis=0)
    cuts, wanted = dice.cuts(futures, runs), dice.uniforms(futures, draws)
    picked = np.array([np.searchsorted(own, one) for own, one in zip(cuts, wanted, strict=True)])
    means: FloatArray = gains[picked].mean(axis=1)
    return means


def factor(dice: Dice, doubt: float, futures: int) -> FloatArray:
    """Return factors around 1, normal, with `doubt` as half-width of their 95 % range, none below 0. [futures]"""
    return np.maximum(0.0, 1.0 + doubt / TWO_SIDED_95 * dice.normals(futures))
