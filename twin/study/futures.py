"""The odds of a change: what it may be worth, over futures drawn from the runs and from the doubt in the inputs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from twin.indicators.intervals import FloatArray
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
    dice = Dice(seed, futures)
    lives = dice.lives(gains, min(max(draws, 1), MOST_DRAWS))
    worth = dice.factor(doubts.contribution)
    flows = cash_flows(
        purchase,
        lives * worth[:, None],
        terms,
        price=dice.factor(doubts.capex),
        delay=dice.factor(doubts.delivery),
    )
    return Odds(net_present_values(terms.monthly_rate, flows), paybacks(flows))


class Dice:
    """Random numbers of the futures: from raw words of the generator, so that they stay the same for years."""

    def __init__(self, seed: int, futures: int) -> None:
        self._words = np.random.Philox(key=np.array([seed, 0x6D6F6E6579], dtype=np.uint64))
        self._futures = futures

    def uniforms(self, count: int) -> FloatArray:
        """Return numbers inside (0, 1). [futures, count]"""
        raw = self._words.random_raw(self._futures * count)
        return ((raw >> np.uint64(12)).astype(float) + 0.5).reshape(self._futures, count) * 2.0**-52

    def lives(self, gains: FloatArray, draws: int) -> FloatArray:
        """Return the mean gains of each future's life. [futures, stages]"""
        runs = len(gains)
        if runs == 1:
            return np.repeat(gains, self._futures, axis=0)
        cuts = np.sort(self.uniforms(runs - 1), axis=1)
        wanted = self.uniforms(draws)
        picked = np.array([np.searchsorted(own, one) for own, one in zip(cuts, wanted, strict=True)])
        lives: FloatArray = gains[picked].mean(axis=1)
        return lives

    def factor(self, doubt: float) -> FloatArray:
        """Return factors around 1, normal, with `doubt` as half-width of their 95 % range, none below 0. [futures]"""
        from scipy.special import ndtri

        normal = ndtri(self.uniforms(1)[:, 0])
        return np.maximum(0.0, 1.0 + doubt / TWO_SIDED_95 * normal)
