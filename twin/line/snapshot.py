"""The state of a line at one moment, told in the grammar of `start:`, so that it can be written to a file.

What the grammar does not hold is left out: how long coils have lain, how far causes of stops have come (but for the
rolls), where a sequence of patterns stands, more than one coil in a machine, a back-up roll on the grinder.
"""

from __future__ import annotations

from typing import Any, Literal

from twin.line.build import build, store_names
from twin.line.clock_loop import run_to
from twin.line.engine import rules_of
from twin.line.model import NO_SCRIPTS, Model, Scripts, model_of
from twin.line.reasons import FIXED_REASONS
from twin.line.rules import state as st
from twin.line.rules.tools import first_out, holds_out
from twin.scenario.models import Scenario

Told = dict[str, Any]
PLACES = {
    st.READY: "ready",
    st.COOLING: "cooling",
    st.QUEUED: "waiting",
    st.GRINDING: "grinding",
    st.FITTING: "fitting",
    st.HEATING: "heating",
}


def state_at(
    scenario: Scenario,
    at: float,
    *,
    seed: int = 2026,
    run: int = 0,
    clock: Literal["compiled", "pure"] = "compiled",
    scripts: Scripts | None = None,
) -> Told:
    """Run a line up to a moment and return its state as `start:` tells it.

    Parameters
    ----------
    scenario : The line; it is not changed.
    at : The moment, from the start of the run, its warm-up included. [s]
    seed, run, clock, scripts : As for a run.
    """
    model = model_of(scenario)
    pure = clock == "pure"
    line, draws = build(model, seed, run, scripts or NO_SCRIPTS, pure=pure)
    rules_of("run", pure=pure).begin(line)
    run_to(line, draws, at, pure=pure)
    rules_of("counting", pure=pure).bring_to(line, at)
    return state_of(line, model)


def state_of(line: st.Line, model: Model) -> Told:
    """Return the state of a line at its present moment as `start:` tells it."""
    told: Told = {"stores": stocks(line, model)}
    rolls = {name: rolls_now(line, place) for place, name in enumerate(model.layout.mills)}
    machines = {name: doing for name in model.scenario.stations if (doing := machines_now(line, model, name))}
    return told | ({"rolls": rolls} if rolls else {}) | ({"machines": machines} if machines else {})


# Stores


def stocks(line: st.Line, model: Model) -> Told:
    """Return what lies in each store that is not a finished one."""
    told: Told = {}
    for name in model.scenario.stores:
        own = [store for store, known in zip(line.stores, store_names(model), strict=True) if known == name]
        if name in model.finished:
            continue
        stock = coils_in(own[0], model) if own[0].holds == st.COILS else level_of(own, model)
        if stock is not None:
            told[name] = stock
    return told


def coils_in(store: st.Store, model: Model) -> Told | int | None:
    """Return how many coils lie in a store, by pattern or product where they have one."""
    names = ["", *model.routes.patterns, *model.routes.products]
    counts = {
        name: len(lane.coils) - int(lane.head)
        for name, lane in zip(names, store.lanes, strict=True)
        if len(lane.coils) > lane.head
    }
    if not counts:
        return None
    return counts[""] if set(counts) == {""} else {name: count for name, count in counts.items() if name}


def level_of(stores: list[st.Store], model: Model) -> Told | str | None:
    """Return how much metal, strip or pieces lie in a store, those of pairs of machines together."""
    level = sum(store.level for store in stores)
    if stores[0].holds != st.PIECES:
        return f"{level!r} kg"
    if level <= 0.0:
        return None
    by: dict[str, float] = {}
    for store in stores:
        product = next((int(giver.product) for giver in store.givers if giver.product >= 0), -1)
        name = model.routes.products[product] if product >= 0 else ""
        by[name] = by.get(name, 0.0) + store.level
    return f"{level!r} pieces" if "" in by else by


# Rolls


def rolls_now(line: st.Line, place: int) -> Told:
    """Return how far the rolls of a mill have run, and where its other sets are."""
    shop = line.shops[place]
    rolls = shop.mills[0].rolls
    told: Told = {"used": f"{rolls.kilograms!r} kg" if rolls.limit_in_mass else f"{rolls.km!r} m"}
    if not shop.unlimited:
        bare = [machine.rolls.roll_set for machine in shop.mills if machine.rolls.bare]
        stages = [int(roll_set.stage) for roll_set in shop.sets if roll_set not in bare]
        told["sets"] = {word: stages.count(stage) for stage, word in PLACES.items() if stage in stages}
    if shop.back_up_every > 0 and not shop.unlimited:  # with sets without end nothing is ground
        told["changes_to_back_up"] = int(shop.back_up_every - shop.changes)
    return told


# Machines


def machines_now(line: st.Line, model: Model, name: str) -> list[Told]:
    """Return what the machines of a station are doing; those that are idle and set for nothing are left out."""
    place = model.layout.stations.index(name)
    found = [(machine, doing(line, model, machine)) for machine in line.machines if machine.station == place]
    kept = [(machine, {key: value for key, value in told.items() if value is not None}) for machine, told in found]
    return [{"machine": int(machine.number), **told} for machine, told in kept if told]


def doing(line: st.Line, model: Model, machine: st.Machine) -> Told:
    """Return what one machine is doing. A finished coil that waits behind it is told as ending now."""
    told = set_for(model, machine) | holding(model, machine)
    if machine.stop in (st.REPAIR, st.SERVICE, st.ROLLS, st.NO_CREW):
        return told | interrupted(line, model, machine)
    if machine.phase == st.TIMED:
        return told | timed(line, model, machine)
    if machine.phase == st.WORK and not idle_flow(machine):
        rate = machine.nominal if machine.nominal > 0.0 else 1.0
        return told | {"state": "running"} | ({"left": f"{machine.left / rate!r} s"} if machine.left < st.NEVER else {})
    if machine.phase == st.ASKING and machine.has_coil and machine.discrete:
        return told | {"state": "running", "left": f"{usual_time(machine)!r} s"}
    if whole_behind(line, machine):
        return told | {"state": "running", "left": "0 s"}
    return told


def whole_behind(line: st.Line, machine: st.Machine) -> bool:
    """Tell whether a whole finished coil, or all the rings of one, wait behind a machine."""
    if holds_out(machine) == 0 or machine.kind == st.SUPPLY:
        return False
    pattern = int(first_out(machine).pattern)
    rings = machine.kind == st.SLITTER and first_out(machine).product >= 0
    return holds_out(machine) == (len(line.patterns[pattern].rings) if rings else 1)


def idle_flow(machine: st.Machine) -> bool:
    """Tell whether a flow has nothing to tell of: it runs by itself, nothing of it is wound or cut."""
    return not machine.discrete and machine.left >= st.NEVER


def lane_name(model: Model, lane: int) -> str | None:
    """Return the pattern or product of a lane; none for what has neither."""
    return (None, *model.routes.patterns, *model.routes.products)[lane] if lane > 0 else None


def set_for(model: Model, machine: st.Machine) -> Told:
    """Return what a slitter, cutter or profiler is set for."""
    if machine.kind not in (st.SLITTER, st.CUTTER, st.PROFILER):
        return {}
    name = lane_name(model, int(machine.lane))
    if name is None and machine.product >= 0:
        name = model.routes.products[int(machine.product)]
    return {"set_for": name} if name else {}


def holding(model: Model, machine: st.Machine) -> Told:
    """Return the coil or ring that a machine holds, or the finished one that waits behind it."""
    waits = holds_out(machine) > 0 and machine.discrete
    if machine.kind == st.SUPPLY or not (machine.has_coil or waits):
        return {}
    name = lane_name(model, int(machine.coil.lane))
    return {"holds": name} if name else {}


def interrupted(line: st.Line, model: Model, machine: st.Machine) -> Told:
    """Return a repair, a service, or a change of rolls."""
    left = machine.stop_end - line.now if machine.stop_running else machine.stop_left
    told: Told = {"left": f"{left!r} s"}
    cause = machine.causes[machine.stop_cause] if machine.stop_cause >= 0 else None
    if machine.rolls.used and (machine.stop == st.ROLLS or cause is None or cause.rolls):
        return told | {"state": "changing rolls"}
    if cause is None or cause.service:
        return told | {"state": "setup"}
    known = cause.reason >= len(FIXED_REASONS)
    return told | {"state": "down"} | ({"reason": model.reasons[int(cause.reason)]} if known else {})


def timed(line: st.Line, model: Model, machine: st.Machine) -> Told:
    """Return a setup, a change, a restart, or the lifting of a coil that is worked before or after it."""
    left = machine.task_end - line.now if machine.task_running else machine.task_left
    if machine.task == st.LOAD and machine.discrete:
        return {"state": "running", "left": f"{left + usual_time(machine)!r} s"}
    if machine.task in (st.LOAD, st.UNLOAD, st.DELIVERY):
        return {"state": "running", "left": f"{left!r} s"}
    told: Told = {"state": "setup", "left": f"{left!r} s"}
    if machine.task == st.PATTERN:
        told["set_for"] = lane_name(model, int(machine.next_lane))
    elif machine.task == st.COIL_CHANGE:
        told["set_for"] = None
    return told


def usual_time(machine: st.Machine) -> float:
    """Return how long the coil in hand takes without what is drawn for it. [s]"""
    lane = machine.coil.lane
    return machine.fixed_s[lane] + machine.s_per_kg[lane] * machine.coil.mass
