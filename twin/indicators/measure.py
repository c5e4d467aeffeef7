"""One run boiled down to plain numbers: what a study keeps of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from twin.indicators.bottleneck import (
    ACTIVE,
    CLOSED,
    HELD,
    NO_PERIODS,
    Periods,
    active_periods,
    all_active,
    momentary_bottleneck,
)
from twin.indicators.columns import QUANTILES, Shape, shape
from twin.indicators.intervals import FloatArray
from twin.indicators.iso22400 import Elements, availability, effectiveness, oee_index, quality_ratio, ratio

if TYPE_CHECKING:
    from twin.line import Totals

HOUR = 3600.0
WEEK = 168.0 * HOUR
TONNE = 1000.0
KILOMETRE = 1000.0

RUNNING, SETUP, CHANGING, DOWN, WAITING, STARVED, BLOCKED, SHUT = range(8)

# What a state in the log of a run counts as: the state itself, + 8 where slowed, + 16 where a roll set is awaited.
SLOWED, NO_SET = 8, 16
LOGGED = np.full(32, ACTIVE)
LOGGED[[STARVED, BLOCKED]] = HELD
LOGGED[SLOWED : 2 * SLOWED] = HELD
LOGGED[NO_SET:] = HELD
LOGGED[[SHUT, SHUT + SLOWED]] = CLOSED


def measure(totals: Totals) -> FloatArray:
    """Return every indicator of one run, in the order of `columns(totals.layout)`; NaN where it has no value."""
    plan = shape(totals.layout)
    with np.errstate(divide="ignore", invalid="ignore"):
        blocks = [
            _line(totals),
            totals.good_kg / (TONNE * _hours(totals)),
            totals.pieces_good / _hours(totals),
            *_stations(totals, plan),
            *_stores(totals, plan),
            *_rolls(totals, plan),
            totals.shared_busy_s / totals.duration_s,
            _limits(totals, plan),
            np.array([totals.mass_error_kg, totals.time_error_s]),
        ]
    return np.concatenate([np.ravel(block) for block in blocks])


def _hours(totals: Totals) -> float:
    return float(totals.duration_s) / HOUR


def _line(totals: Totals) -> FloatArray:
    """Return good [t/h], pieces [1/h], scrap [t/h], yield [1], lead time with quantiles [h], metal in the line [t]."""
    hours, good = _hours(totals), float(totals.good_kg.sum())
    scrap = sum(kg for _, _, kg in totals.scrap)
    lead = totals.lead_time_s / HOUR
    return np.array(
        [
            good / TONNE / hours,
            float(totals.pieces_good.sum()) / hours,
            scrap / TONNE / hours,
            ratio(good, good + scrap),
            float(lead.mean()) if lead.size else np.nan,
            *quantiles(lead),
            totals.wip_kg_s / totals.duration_s / TONNE,
        ]
    )


def quantiles(values: FloatArray, asked: tuple[float, ...] = QUANTILES) -> FloatArray:
    """Return quantiles between the two neighbouring order statistics, NaN of no values."""
    if values.size == 0:
        return np.full(len(asked), np.nan)
    ordered = np.sort(values)
    place = np.array(asked) * (values.size - 1)
    lower = np.floor(place).astype(np.int64)
    upper = np.minimum(lower + 1, values.size - 1)
    between: FloatArray = ordered[lower] + (place - lower) * (ordered[upper] - ordered[lower])
    return between


def _stations(totals: Totals, plan: Shape) -> list[FloatArray]:
    """Return the blocks of the stations, in the order of their columns."""
    hours, layout = _hours(totals), totals.layout
    out, coils, pieces, stops, turned, slowed = (
        _by_station(plan, values)
        for values in (totals.out_kg, totals.coils, totals.pieces, totals.stops, totals.turned_away, totals.slowed_s)
    )
    scrap = np.zeros(len(layout.stations))
    for station, _, kg in totals.scrap:
        scrap[layout.stations.index(station)] += kg
    states = np.array([_by_station(plan, column) for column in totals.state_s.T])
    clock = plan.machines * totals.duration_s
    supply = np.array([kind == "supply" for kind in layout.kinds])
    return [
        out / TONNE / hours,
        coils / hours,
        pieces / hours,
        scrap / TONNE / hours,
        stops / hours,
        (turned / (turned + coils))[supply],
        states / clock,
        slowed / clock,
        _iso(states, slowed, out, scrap),
    ]


def _by_station(plan: Shape, values: FloatArray) -> FloatArray:
    """Add up machines station by station."""
    return np.bincount(plan.station_of, weights=values, minlength=plan.machines.size).astype(float)


def _iso(states: FloatArray, slowed: FloatArray, out: FloatArray, scrap: FloatArray) -> FloatArray:
    """Return the four ratios of ISO 22400-2 of each station, [4, stations]."""
    units = [elements(*row) for row in zip(states.T, slowed, out, scrap, strict=True)]
    return np.array([[one(unit) for unit in units] for one in (availability, effectiveness, quality_ratio, oee_index)])


def elements(states: FloatArray, slowed: float, out: float, scrap: float) -> Elements:
    """Map the time in our eight states [s] and the mass out and scrapped [kg] to the elements of ISO 22400-2."""
    clock = states.tolist()
    set_up = clock[SETUP] + clock[CHANGING]
    return Elements(
        planned_busy=sum(clock[:SHUT]),
        unit_busy=clock[RUNNING] + set_up + clock[DOWN] + clock[WAITING],
        processing=clock[RUNNING] + set_up,
        production=clock[RUNNING],
        set_up=set_up,
        delay=clock[DOWN] + clock[WAITING],
        ideal_run=clock[RUNNING] - float(slowed),
        produced=float(out + scrap),
        good=float(out),
        scrap=float(scrap),
        rework=0.0,
    )


def _stores(totals: Totals, plan: Shape) -> list[FloatArray]:
    """Return mean level and peak [t, coils or pieces], share of time full and empty [1]."""
    scale = np.array(plan.store_scale)
    return [
        totals.store_level_s / totals.duration_s / scale,
        totals.store_peak / scale,
        totals.store_full_s / totals.duration_s,
        totals.store_empty_s / totals.duration_s,
    ]


def _rolls(totals: Totals, plan: Shape) -> list[FloatArray]:
    """Return changes and damages [1/week], km of a campaign, shares of the mills' clock changing and waiting for a set.

    Machines of one station share its sets: what is counted is theirs together, a share is one of all their hours.
    """
    weeks = totals.duration_s / WEEK
    stations = list(totals.layout.stations)
    clock = totals.duration_s * plan.machines[[stations.index(mill) for mill in totals.layout.mills]]
    return [
        totals.rolls_changes / weeks,
        totals.rolls_damages / weeks,
        totals.rolls_km_sum / totals.rolls_changes,
        totals.rolls_change_s / clock,
        totals.rolls_wait_set_s / clock,
    ]


def _limits(totals: Totals, plan: Shape) -> FloatArray:
    """Return for which share of the time each station was the momentary bottleneck.

    Periods that began in the warm-up keep their whole length; only what comes after it is counted.
    """
    if totals.active[0].size == 0:
        return np.full(plan.machines.size, np.nan)
    machines = machine_periods(totals)
    stations = [
        all_active([machines[i] for i in np.flatnonzero(plan.station_of == number)])
        for number in range(plan.machines.size)
    ]
    start, until, who = momentary_bottleneck(stations)
    begin = totals.warm_up_s
    lasted = np.maximum(until, begin) - np.maximum(start, begin)
    return np.bincount(who, weights=lasted, minlength=plan.machines.size).astype(float) / float(totals.duration_s)


def machine_periods(totals: Totals) -> list[Periods]:
    """Return the active periods of each machine, from the log of its states."""
    time, machine, code = totals.active
    end = totals.warm_up_s + totals.duration_s
    order = np.argsort(machine.astype(np.int16), kind="stable")  # small whole numbers are sorted by counting
    cuts = np.searchsorted(machine[order], np.arange(1, len(totals.layout.machines)))
    return [
        active_periods(time[rows], LOGGED[code[rows]], end) if rows.size else NO_PERIODS
        for rows in np.split(order, cuts)
    ]
