"""From what was expected to the replay: each cause's share of the gap, the same random numbers for every set of causes.

A run's value for a set of causes is its good output with those causes as recorded and the others drawn. A run of
which all subsets were made has exact shares; the other runs have those of one random order and its reverse, which are
right on average. Either way a run's shares add up to its gap, so the rungs add up to the mean gap.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import groupby

import numpy as np

from twin.indicators.intervals import FloatArray
from twin.line.engine import compiled_available
from twin.line.model import Model, Scripts
from twin.line.simulate import collector_resting
from twin.line.switched import Switched, can_wait
from twin.study.review_day import Day, Vary, model_of_run
from twin.study.review_events import Cause
from twin.study.review_scripts import together
from twin.study.shapley import MOST_EXACT, Shares, along, exact, orders

NOTHING_T = 1e-6
SMALL_T = 0.02  # causes that move less, alone and after all others, are counted together
TRIES = 6  # runs by which a cause is found to move nothing
BUDGET = 4000  # runs of a day that may be spent on subsets
AT_ONCE = 100  # runs between two looks whether to stop
MOST_LINES = 64
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
    lines: dict[int, tuple[Model, Switched]] = field(default_factory=dict, init=False, repr=False)

    @property
    def everything(self) -> int:
        """Return the set of all players."""
        return (1 << len(self.players)) - 1

    @cached_property
    def bound(self) -> int:
        """Return the set of those that make another line or morning; the others can wait until it has begun."""
        told = Counter(name for part in self.parts for name in part.draws)
        waits = [can_wait(part) and all(told[name] == 1 for name in part.draws) for part in self.parts]
        return sum(1 << i for i, own in enumerate(waits) if not own)

    def value(self, inside: int, runs: Sequence[int]) -> FloatArray:
        """Return the good tonnes of some runs with a set of players as recorded."""
        one: FloatArray = self.values([inside], runs)[0]
        return one

    def values(self, sets: Sequence[int], runs: Sequence[int]) -> FloatArray:
        """Return the good tonnes of some runs with several sets of players as recorded, [sets, runs]."""
        for run in runs:
            missing = [inside for inside in sets if (inside, run) not in self.known]
            for bound, own in groupby(sorted(missing, key=self._bound_of), key=self._bound_of):
                self._make(run, bound, list(own))
        return np.array([[self.known[inside, run] for run in runs] for inside in sets])

    def _bound_of(self, inside: int) -> int:
        return inside & self.bound

    def _make(self, run: int, bound: int, sets: Sequence[int]) -> None:
        """Make one run with sets of players that have the same line and the same morning."""
        with collector_resting():
            line = self._line(bound, model_of_run(self.day, self.vary, self.seed, run))
            line.begin(self.seed, run)
            waiting = [i for i in range(len(self.players)) if not self.bound >> i & 1]
            if len(sets) == 1 << len(waiting):
                self._make_all(line, run, bound, waiting)
            else:
                self._make_some(line, run, sets, waiting)

    def _make_all(self, line: Switched, run: int, bound: int, waiting: Sequence[int]) -> None:
        """Make one run of a line with all sets of those who wait."""
        sets = [bound]
        for i in waiting:
            sets += [inside | 1 << i for inside in sets]
        for inside, good_kg in zip(sets, line.good_kg_of_all(), strict=True):
            self.known[inside, run] = good_kg / 1000.0
        self._tell_on()

    def _make_some(self, line: Switched, run: int, sets: Sequence[int], waiting: Sequence[int]) -> None:
        """Make one run of a line with each of some sets."""
        for place, inside in enumerate(sets, start=1):
            put_in = [own for own, i in enumerate(waiting) if inside >> i & 1]
            self.known[inside, run] = line.good_kg(put_in) / 1000.0
            if place % AT_ONCE == 0 or place == len(sets):
                self._tell_on()

    def _tell_on(self) -> None:
        if self.tell is not None:
            self.tell(len(self.known))

    def _line(self, bound: int, model: Model) -> Switched:
        """Return a line with these players recorded, made before or now."""
        kept = self.lines.get(bound)
        if kept is None or kept[0] is not model:
            if len(self.lines) >= MOST_LINES:
                self.lines.clear()
            parts = [part for i, part in enumerate(self.parts) if not self.bound >> i & 1]
            kept = model, Switched(model, self.scripts(bound), parts, pure=not compiled_available())
            self.lines[bound] = kept
        return kept[1]

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
    each = range(len(game.players))
    alone_in, last_out = [1 << i for i in each], [game.everything & ~(1 << i) for i in each]
    nothing_on, all_on, *switched = game.values([0, game.everything, *alone_in, *last_out], runs)
    movers, small, nothing = list[int](), list[int](), list[int]()
    for i in each:
        alone = switched[i] - nothing_on
        last = all_on - switched[len(game.players) + i]
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
    return exact(game.values(range(game.everything + 1), range(runs)))


def _one_order(game: Game, run: int) -> FloatArray:
    """Return a run's shares from one random order and its reverse."""
    pair = orders(len(game.players), 1, seed=run + 1)
    both = [along(lambda inside: game.value(inside, [run])[0], order) for order in pair]
    mean: FloatArray = np.mean(both, axis=0)
    return mean
