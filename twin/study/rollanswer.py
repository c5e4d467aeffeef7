"""When do the rolls come out: the whole answer for one mill of a plant, as it stands now."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import inf

import numpy as np

from twin.indicators.intervals import FloatArray, Interval, mean_interval
from twin.line.model import shop_people
from twin.scenario import Scenario, apply_set
from twin.study.maker import Maker, Step
from twin.study.pool import Door, Here, cores, shared
from twin.study.replacement import age_replacement, rates
from twin.study.replicate import NothingMadeError
from twin.study.rollcoming import (
    DAY_S,
    HOUR_S,
    Planning,
    Schedule,
    Tried,
    as_planned,
    plan_ahead,
    possible,
    priced,
    shortened,
    tried,
    with_sets_enough,
)
from twin.study.rollfutures import AT_LIMIT, Outcomes, Wish, play_all
from twin.study.rollnow import GIVEN, Present, chosen_mill, present, rolls_of
from twin.study.rollresult import Age, Answer, Asked, Change, Checked, Life, Place, Rule, Sweep
from twin.study.rollsaid import CAUTIONS, Rests, assumed_of, how_sure, moment, verdict
from twin.study.rollshop import Stay
from twin.study.rollsweep import rules, sweep, usual_distances
from twin.study.rollwear import Facts, facts_of
from twin.study.rollwindow import Setting, change_of

LEAST_H = 7.0 * 24.0  # futures reach at least so far, to see what a lost hour does to the line
BEYOND_H = 4.0 * 24.0  # and so far beyond the planned days
SPELL_S = 1800.0  # the least time for which the mill is let stand to price its hour
SPELLS = 4
TOLD = 0.001  # of the good output of the futures: a smaller loss leaves a window open
GRID = 120
FAR = 3.0  # scales of a life that its drawing reaches


def answer(
    scenario: Scenario,
    asked: Asked | None = None,
    maker: Maker | None = None,
    so_far: Callable[[Answer], None] | None = None,
) -> Answer:
    """Return when the rolls of a mill come out, how far they should run, and whether any of it matters.

    Parameters
    ----------
    scenario : With the plant's state at its start, or without; a state out of a simulated week then stands for it.
    asked : What is asked; left out, the usual.
    maker : Seed, processes, progress and stop. In one process for a page.
    so_far : Is given the answer without the long run of the line, as soon as the windows stand.

    Raises
    ------
    RollsError : No station has rolls, or no plan is possible; the message says why and what to do.
    NothingMadeError : Stopped before there was anything to show.
    """
    asked, maker = asked or Asked(), maker or Maker(workers=1)
    study = _Study(scenario, asked, maker)
    coming = study.coming()
    if so_far is not None:
        so_far(study.put_together(coming, None, (), stopped=False))
    swept, compared, stopped = study.line()
    return study.put_together(coming, swept, compared, stopped=stopped)


@dataclass(frozen=True)
class _Coming:
    """The coming changes as far as they are worked out."""

    setting: Setting
    changes: tuple[Change, ...]
    schedule: Schedule
    worth: Interval
    checked: Checked
    futures: int


class _Study:
    """One answer in the making."""

    def __init__(self, scenario: Scenario, asked: Asked, maker: Maker) -> None:
        self.scenario, self.asked, self.maker = scenario, asked, maker
        self.mill = chosen_mill(scenario, asked.mill)
        self.hours = max(LEAST_H, asked.days * 24.0 + BEYOND_H)
        self.lasting = scenario if scenario.start.mode == "typical" else apply_set(scenario, "start", "typical")
        self.facts = facts_of(self.lasting, self.mill, seed=maker.seed)
        self.now = present(scenario, self.mill, seed=maker.seed, length=self.hours * HOUR_S + DAY_S)
        self.life = life_of(self.facts)
        self.age = age_of(self.facts)

    # The coming days

    def coming(self) -> _Coming:
        """Plan the coming changes, price every hour around them, and try the plan in futures."""
        pace = self._played("the pace of the coming days", with_sets_enough(self.now), [AT_LIMIT])
        asked = self.asked
        planning = plan_ahead(
            self.now, self.facts, pace, earlier=asked.earlier, frozen=asked.frozen, steady=asked.steady / 60.0
        )
        plans = [possible(one) for one in priced(planning)]
        spells = self._spells([float(plans[0][1].times[place]) for place in plans[0][1].places])
        wishes = [as_planned(one, schedule.places, self.facts.coil.km) for one, schedule in plans]
        outcomes = self._played("the plan in futures", self.now, [AT_LIMIT, Wish(stands=spells), *wishes])
        lost = (outcomes.good[:, 0] - outcomes.good[:, 1]) / (sum(end - start for start, end in spells) / HOUR_S)
        worth = mean_interval(lost)
        chosen = best_of(outcomes.good[:, 2:])
        planning, schedule = plans[chosen]
        good = outcomes.good[:, 2 + chosen]
        planning, schedule = possible(shortened(planning, schedule, self.hours * HOUR_S))
        found, schedule = self._tried(planning, schedule)
        open_below = TOLD * float(outcomes.good[:, 0].mean())
        setting = Setting(self.now, self.facts, planning, max(0.0, worth.mean), open_below)
        checked = Checked(
            mean_interval(good),
            mean_interval(good - outcomes.good[:, 0]),
            self.hours,
            outcomes.futures,
        )
        return _Coming(setting, self._changes(setting, found), schedule, worth, checked, outcomes.futures)

    def _played(self, what: str, now: Present, wishes: Sequence[Wish]) -> Outcomes:
        """Play futures and tell how far that is."""
        outcomes = play_all(
            now,
            wishes,
            seed=self.maker.seed,
            futures=self.asked.futures,
            end=self.hours * HOUR_S,
            door=self._door(),
            tell=self._teller(what, self.asked.futures),
            stop=self.maker.stop,
        )
        if outcomes.futures < 2:
            raise NothingMadeError("stopped before two futures were made")
        return outcomes

    def _door(self) -> Door:
        if self.maker.door is not None:
            return self.maker.door
        return Here() if self.maker.workers == 1 else shared(self.maker.workers or cores())

    def _teller(self, what: str, wanted: int) -> Callable[[int], None] | None:
        tell = self.maker.tell
        return None if tell is None else lambda done: tell(Step(what, done, wanted))

    def _tried(self, planning: Planning, schedule: Schedule) -> tuple[list[Tried], Schedule]:
        """Return each change of the planned days at every place where it may be; the first one in any case."""
        found: list[Tried] = []
        held: list[int] = []
        while len(held) < len(schedule.places):
            at = float(schedule.times[schedule.places[len(held)]])
            if held and at > self.asked.days * DAY_S:
                break
            one = tried(planning, schedule, len(held), held)
            if one is None:
                break
            found.append(one)
            schedule = one.schedule
            held.append(one.places[one.best])
        return found, schedule

    def _changes(self, setting: Setting, found: Sequence[Tried]) -> tuple[Change, ...]:
        """Return the changes with their windows."""
        made: list[Change] = []
        start = -setting.planning.used
        off = self.now.sets[0].number if self.now.sets and setting.planning.stock is not None else None
        for order, one in enumerate(found):
            made.append(change_of(setting, one, order, start, off))
            start = float(setting.planning.coils.km[one.places[one.best]])
            off = made[-1].on
        return tuple(made)

    def _spells(self, times: Sequence[float]) -> tuple[tuple[float, float], ...]:
        """Return when to let the mill stand to see what its hour is worth: as long as after damage, at each change."""
        length = max(SPELL_S, 60.0 * self.facts.damaged_change)
        spells: list[tuple[float, float]] = []
        for at in times or [12.0 * HOUR_S]:
            if (
                len(spells) < SPELLS
                and at < (self.hours - 48.0) * HOUR_S
                and (not spells or at > spells[-1][1] + HOUR_S)
            ):
                spells.append((at + SPELL_S, at + SPELL_S + length))
        return tuple(spells) or ((12.0 * HOUR_S, 12.0 * HOUR_S + length),)

    # The line in the long run

    def line(self) -> tuple[Sweep | None, tuple[Rule, ...], bool]:
        """Sweep distances and compare rules; what was not made before a stop is left out."""
        asked, best = self.asked, self.age.best if self.age is not None else None
        distances = asked.distances or usual_distances(self.facts, best)
        try:
            swept = sweep(self.lasting, self.mill, self.facts, distances, asked.runs, self.maker)
        except (NothingMadeError, KeyboardInterrupt):
            return None, (), True
        today = next(point for point in swept.points if point.today)
        try:
            compared = rules(self.lasting, self.mill, self.facts, today.changes.mean, asked.runs, self.maker)
        except (NothingMadeError, KeyboardInterrupt):
            return swept, (), True
        return swept, compared, False

    # Everything together

    def put_together(
        self, coming: _Coming, swept: Sweep | None, compared: tuple[Rule, ...], *, stopped: bool
    ) -> Answer:
        """Return the answer."""
        now, facts, setting = self.now, self.facts, coming.setting
        hour_matters = matters(coming.worth, coming.changes, setting.open_below)
        runs = self.asked.runs if swept is not None else 0
        soon = coming.schedule.times <= self.asked.days * DAY_S
        here = moment(now.at(0.0), now.at(0.0))
        sure = how_sure(here, now.source, coming.futures, self.hours / 24.0, coming.worth, runs)
        shop = shop_people(self.scenario, self.mill) > 0
        uncertain, spared = self.maker.vary is not None, setting.planning.wear.set_price > 0.0
        return Answer(
            scenario=self.scenario.name,
            digest=self.scenario.digest,
            seed=self.maker.seed,
            runs=runs,
            futures=coming.futures,
            station=self.mill,
            now=now.at(0.0),
            zone=self.scenario.time.zone,
            source=now.source,
            days=self.asked.days,
            used=now.used_km,
            limit=facts.limit if facts.limit < inf else None,
            life=self.life,
            age=self.age,
            sweep=swept,
            rules=compared,
            sets=places_of(now),
            stays=stays_of(now, coming.schedule, self.asked.days * DAY_S),
            changes=coming.changes,
            hour_worth=coming.worth,
            worth_telling=setting.open_below,
            hour_matters=hour_matters,
            matters=hour_matters or (swept is not None and swept.matters),
            waits=float(coming.schedule.waits[soon].sum()) / HOUR_S,
            checked=coming.checked,
            verdict=verdict(setting, coming.changes, coming.worth, swept, hour_matters=hour_matters, sure=sure),
            assumed=assumed_of(facts, self.asked, Rests(now.source == GIVEN, shop, uncertain, spared)),
            cautions=CAUTIONS,
            shop_open=self._shop_open() if shop else (),
            stopped=stopped,
        )

    def _shop_open(self) -> tuple[tuple[float, float], ...]:
        """Return the hours of the roll shop in the planned days."""
        shop = rolls_of(self.scenario, self.mill).shop
        horizon = self.asked.days * DAY_S
        hours = self.now.hours(shop.calendar if shop is not None else None, horizon)
        edges = [0.0, *(at for at in hours.turns if 0.0 < at < horizon), horizon]
        spells = zip(edges, edges[1:], strict=False)
        return tuple((start, end) for start, end in spells if hours.is_open(start))


def best_of(goods: FloatArray) -> int:
    """Return the last plan that does not surely make less than the best of all, or less by nothing worth a word.

    Plans come with ground sets worth more and more: none is spent before its limit unless that surely pays.
    """
    best = int(goods.mean(axis=0).argmax())
    least = TOLD * float(goods[:, best].mean())
    for place in reversed(range(goods.shape[1])):
        lost = mean_interval(goods[:, best] - goods[:, place])
        if lost.low is None or lost.low <= 0.0 or lost.mean <= least:
            return place
    return best


def matters(worth: Interval, changes: Sequence[Change], open_below: float) -> bool:
    """Tell whether the hour of a change matters: a lost hour surely costs, and some allowed hour costs enough."""
    if worth.low is None or worth.low <= 0.0:
        return False
    return any(price.tonnes > open_below for change in changes for price in change.prices if price.tonnes < inf)


def life_of(facts: Facts) -> Life:
    """Return how rolls live."""
    law = facts.law
    if law is None:
        return Life("", None, None, None, facts.unknown)
    ages = np.linspace(0.0, FAR * law.mean, GRID + 1)
    survives = np.concatenate([[1.0], 1.0 - law.failed(ages[1:])])
    parameters = law.parameters
    scale = parameters.get("scale", parameters.get("median"))
    return Life(law.name, parameters.get("shape"), scale, law.mean, "", tuple(ages.tolist()), tuple(survives.tolist()))


def age_of(facts: Facts) -> Age | None:
    """Return how far a set should run as far as the mill alone is concerned; None where nothing is known of damage."""
    law = facts.law
    if law is None or not 0.0 < facts.planned < inf or not 0.0 < facts.damaged < inf:
        return None
    plan = age_replacement(law, planned=facts.planned, damaged=facts.damaged)
    ages = np.linspace(0.0, FAR * law.mean, GRID + 1)[1:]
    prices = {"planned": facts.planned, "damaged": facts.damaged}
    today = float(rates(law, np.array([facts.limit]), **prices)[0]) if facts.limit < inf else None
    low, high = (value if value < inf else None for value in plan.flat)
    return Age(
        best=plan.best if plan.best < inf else None,
        flat=(low, high),
        pays=plan.pays,
        reason=plan.reason,
        planned=facts.planned,
        damaged=facts.damaged,
        ages=tuple(ages.tolist()),
        minutes=tuple(rates(law, ages, **prices).tolist()),
        today=today,
    )


def places_of(now: Present) -> tuple[Place, ...]:
    """Return where each set is; none where sets are unlimited."""
    if now.rolls.sets is None:
        return ()
    return tuple(
        Place(
            one.number,
            one.place,
            None if one.since is None else -one.since,
            one.until,
            one.diameter if one.diameter > 0.0 else None,
            one.damaged,
        )
        for one in sorted(now.sets, key=lambda one: one.number)
    )


def stays_of(now: Present, schedule: Schedule, until: float) -> tuple[Stay, ...]:
    """Return where each set was and will be, by set and time."""
    if schedule.course is None:
        return ()
    past = [Stay(one.number, one.place, one.start, one.end) for one in now.past]
    coming = [replace(one, end=min(one.end, until)) for one in schedule.course.stays if one.start < until]
    joined: list[Stay] = []
    for one in sorted([*past, *coming], key=lambda stay: (stay.number, stay.start)):
        last = joined[-1] if joined else None
        if last is not None and (last.number, last.place) == (one.number, one.place) and one.start - last.end < 1.0:
            joined[-1] = replace(last, end=one.end)
        else:
            joined.append(one)
    return tuple(joined)
