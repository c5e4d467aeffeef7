"""Makes a line of objects from a model, a seed and a run: every reference set, every stream filled."""

from __future__ import annotations

import math
from collections.abc import Sequence

from twin.line.build_flow import add_segments, first_draws, join, order
from twin.line.build_places import add_calendars, add_shared, add_stores
from twin.line.build_plan import add_patterns
from twin.line.build_rolls import add_shop
from twin.line.build_stations import add_station
from twin.line.builder import Builder
from twin.line.draws import Draws
from twin.line.engine import rules_of
from twin.line.model import NO_SCRIPTS, Model, Scripts, paired
from twin.line.rules import state as st
from twin.line.scripted import add_scripts, check_draws, check_scripts, make_room, settle_scripts
from twin.line.start import begin_now


def put_together(builder: Builder) -> None:
    """Make all that a line is, but for the numbers of a run."""
    for scripts in (builder.scripts, *builder.later):
        check_scripts(builder.model, scripts)
    line, ways = builder.line, builder.ways
    line.end = builder.model.end
    line.products = len(ways.products)
    line.lanes = ways.lanes
    line.lane_product = list(ways.lane_product)
    line.good_kg = [builder.make.Sum() for _ in range(line.products + 1)]
    line.good_pieces = [builder.make.Sum() for _ in range(line.products + 1)]
    add_calendars(builder)
    add_shared(builder)
    add_stores(builder)
    for name in builder.model.scenario.stations:
        add_station(builder, name)
    for name in builder.model.layout.mills:
        add_shop(builder, name)
    join(builder)
    add_segments(builder)
    add_patterns(builder)
    add_scripts(builder)
    make_room(builder)
    order(builder)
    for scripts in (builder.scripts, *builder.later):
        check_draws(scripts, builder.draws.asked)
    line.in_kg = math.fsum(store.level for store in line.stores if store.holds == st.METAL)


def make_ready(builder: Builder, seed: int, run: int, then: Sequence[int] = ()) -> None:
    """Give a line that has just been put together the numbers of a run, and the state in which it starts.

    The runs that come `then` will want theirs soon.
    """
    builder.draws.begin(seed, run, then)
    first_draws(builder)
    if builder.scenario.start.mode == "now":
        begin_now(builder)
    settle_scripts(builder)


def builder_of(model: Model, scripts: Scripts, *, pure: bool, later: Sequence[Scripts] = ()) -> Builder:
    """Return what has built a line, of the plain or the compiled classes, with room for records that come `later`."""
    builder = Builder(model, scripts, later, rules_of("state", pure=pure), rules_of("setting", pure=pure))
    put_together(builder)
    return builder


def build(
    model: Model, seed: int, run: int, scripts: Scripts = NO_SCRIPTS, *, pure: bool = False
) -> tuple[st.Line, Draws]:
    """Return a line ready to begin, and its streams."""
    builder = builder_of(model, scripts, pure=pure)
    make_ready(builder, seed, run)
    return builder.line, builder.draws


def store_names(model: Model) -> list[str]:
    """Return the name of each store of a line; one between pairs of machines comes once for each pair."""
    return [name for name in model.scenario.stores for _ in range(paired(model.scenario, name))]
