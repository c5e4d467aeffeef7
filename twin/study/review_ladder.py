"""From what was expected to the replay: each cause's share of the gap, the same random numbers for every set of causes.

A run's value for a set of causes is its good output with those causes as recorded and the others drawn. A run of
which all subsets were made has exact shares; the other runs have those of one random order and its reverse, which are
right on average. Either way a run's shares add up to its gap, so the rungs add up to the mean gap.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from twin.indicators.intervals import FloatArray
from twin.line.model import Scripts
from twin.line.simulate import collector_resting
from twin.study.review_day import Day, Vary, model_of_run, run_day
from twin.study.review_events import Cause
from twin.study.review_scripts import together
from twin.study.shapley import MOST_EXACT, Shares, along, exact, orders

NOTHING_T = 1e-6
SMALL_T = 0.02  # causes that move less, alone and after all others, are counted together
TRIES = 6  # runs by which a cause is found to move nothing
BUDGET = 4000  # runs of a day that may be spent on subsets
OTHERS = Cause("others")


@dataclass
class Game:
    """Runs of one day with sets of its causes switched to what was recorded; each is made once.

    Attributes
    ----------
    players : The causes, or groups of them, by number: bit i of a set is player i.
    parts : What each puts in the place of draws.
    """

    day: Day
    players: tuple[Cause, ...]
    parts: tuple[Scripts, ...]
    seed: int
    vary: Vary | None = None
    tell: Callable[[int], None] | None = None
    known: dict[tuple[int, int], float] = field(default_factory=dict)

    @property
    def everything(self) -> int:
        """Return the set of all players."""
        return (1 << len(self.players)) - 1

    def value(self, inside: int, runs: Sequence[int]) -> FloatArray:
        """Return the good tonnes of some runs with a set of players as recorded."""
        missing = [run for run in runs if (inside, run) not in self.known]
        if missing:
            scripts = self.scripts(inside)
            for run in missing:
                model = model_of_run(self.day, self.vary, self.seed, run)
                self.known[inside, run] = float(run_day(model, scripts, seed=self.seed, run=run)[-1])
            if self.tell is not None:
                self.tell(len(self.known))
        return np.array([self.known[inside, run] for run in runs])

    def scripts(self, inside: int) -> Scripts:
        """Return what a set of players puts in the place of draws."""
        return together([self.day.base, *(own for i, own in enumerate(self.parts) if inside >> i & 1)])


@dataclass(frozen=True, slots=True)
class Ladder:
    """Shares of the causes that moved anything.

    Attributes
    ----------
    players : The causes; the last may stand for several small ones.
    small : The causes that it stands for.
    nothing : The causes that moved nothing.
    shares : Of each run, [players, runs] in t.
    low, high : Over all orders, of the runs of which all subsets were made. [players]
    exact_runs : How many runs those are.
    base, replay : Each run's tonnes with nothing and with everything as recorded.
    game : The runs, for more of them.
    """

    players: tuple[Cause, ...]
    small: tuple[Cause, ...]
    nothing: tuple[Cause, ...]
    shares: FloatArray
    low: FloatArray
    high: FloatArray
    exact_runs: int
    base: FloatArray
    replay: FloatArray
    game: Game


def ladder(whole: Game, runs: int, *, budget: int = BUDGET) -> Ladder:
    """Return the shares of all causes of a day over so many runs."""
    with collector_resting():
        return _ladder(whole, runs, budget)


def _ladder(whole: Game, runs: int, budget: int) -> Ladder:
    numbers = range(runs)
    movers, small, nothing = _sorted(whole, range(min(runs, TRIES)))
    game = _smaller(whole, movers, small)
    missed = game.value(game.everything, numbers) - whole.value(whole.everything, numbers)
    if np.abs(missed).max(initial=0.0) > NOTHING_T:  # what seemed to move nothing does so in another run
        small, nothing = [*small, *nothing], []
        game = _smaller(whole, movers, small)
    causes = len(game.players)
    exact_runs = 0 if causes > MOST_EXACT else min(runs, max(1, (2 * budget // 3) >> causes))
    found = _exact(game, exact_runs)
    rest = [_one_order(game, run) for run in range(exact_runs, runs)]
    shares = np.concatenate([found.share, *(own[:, None] for own in rest)], axis=1) if causes else np.zeros((0, runs))
    low, high = (found.low, found.high) if exact_runs else (shares.min(axis=1), shares.max(axis=1))
    return Ladder(
        players=game.players,
        small=tuple(whole.players[i] for i in small),
        nothing=tuple(whole.players[i] for i in nothing),
        shares=shares,
        low=low,
        high=high,
        exact_runs=exact_runs,
        base=game.value(0, numbers),
        replay=game.value(game.everything, numbers),
        game=game,
    )


def _sorted(game: Game, runs: Sequence[int]) -> tuple[list[int], list[int], list[int]]:
    """Sort causes into those that move something, those that move little, and those that move nothing."""
    nothing_on, all_on = game.value(0, runs), game.value(game.everything, runs)
    movers, small, nothing = list[int](), list[int](), list[int]()
    for i in range(len(game.players)):
        alone = game.value(1 << i, runs) - nothing_on
        last = all_on - game.value(game.everything & ~(1 << i), runs)
        if max(np.abs(alone).max(), np.abs(last).max()) <= NOTHING_T:
            nothing.append(i)
        elif max(np.abs(alone).max(), np.abs(last).max()) <= SMALL_T:
            small.append(i)
        else:
            movers.append(i)
    return movers, small, nothing


def _smaller(game: Game, movers: Sequence[int], small: Sequence[int]) -> Game:
    """Return the game of those that move something; the small ones play as one."""
    players = [game.players[i] for i in movers]
    parts = [game.parts[i] for i in movers]
    if len(small) == 1:
        players, parts = [*players, game.players[small[0]]], [*parts, game.parts[small[0]]]
    elif small:
        parts.append(together([game.parts[i] for i in small]))
        players.append(OTHERS)
    return Game(game.day, tuple(players), tuple(parts), game.seed, game.vary, game.tell)


def _exact(game: Game, runs: int) -> Shares:
    if runs == 0:
        causes = len(game.players)
        return Shares(np.zeros((causes, 0)), np.zeros(causes), np.zeros(causes))
    return exact(np.array([game.value(inside, range(runs)) for inside in range(game.everything + 1)]))


def _one_order(game: Game, run: int) -> FloatArray:
    """Return a run's shares from one random order and its reverse."""
    pair = orders(len(game.players), 1, seed=run + 1)
    both = [along(lambda inside: game.value(inside, [run])[0], order) for order in pair]
    mean: FloatArray = np.mean(both, axis=0)
    return mean
