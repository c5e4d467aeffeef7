"""Patterns of rings, and how the planner chooses among them."""

from __future__ import annotations

from twin.line.builder import Builder
from twin.line.routes import sold_as
from twin.line.rules import state as st
from twin.scenario.calendars import elapsed
from twin.scenario.models import (
    Caster,
    Supply,
)


def add_patterns(builder: Builder) -> None:
    """Set the patterns and how the planner chooses among them."""
    planner = builder.line.planner
    planner.used = bool(builder.ways.planners)
    before = {name: builder.make.Count() for name in builder.scenario.stations}
    for name in builder.ways.patterns:
        own = builder.scenario.patterns[name]
        pattern: st.Pattern = builder.make.Pattern()
        width = own.width or mother_width(builder)
        for debt, (product, count) in enumerate(own.rings.items()):
            pattern.owed.append(0.0)
            girth = builder.scenario.products[product].girth
            place = builder.ways.products.index(product)
            sold = builder.ways.products.index(sold_as(builder.scenario.products, product))
            for _ in range(count):
                part = girth / width if width > 0.0 else 1.0 / sum(own.rings.values())
                pattern.rings.append(builder.make.Ring(place, part, sold, debt))
        pattern.sold_share = own.sold_as_coil
        builder.line.patterns.append(pattern)
        share = builder.make.Share(own.share or 0.0)
        share.holds.extend(builder.make.Hold(before[holder], above) for holder, above in own.hold_above.items())
        planner.shares.append(share)
    if planner.used and not any(own.share for own in planner.shares):
        for alike in planner.shares:
            alike.share = 1.0 / len(planner.shares)
    set_sequence(builder)


def mother_width(builder: Builder) -> float:
    """Return the width of a mother coil: as cast, else as supplied."""
    for station in builder.scenario.stations.values():
        if isinstance(station, Caster):
            return station.width
    for station in builder.scenario.stations.values():
        if isinstance(station, Supply):
            return station.coil.width
    return 0.0


def set_sequence(builder: Builder) -> None:
    """Set the planner's sequence: recorded, planned, or by counts."""
    planner, names = builder.line.planner, builder.ways.patterns
    plan, counts = builder.scenario.plan, [own.count or 0 for own in builder.scenario.patterns.values()]
    if builder.scripts.sequence:
        planner.sequence = [names.index(name) for name in builder.scripts.sequence]
    elif plan is not None:
        for step in plan.repeat or plan.dated:
            planner.sequence += [names.index(step.pattern)] * step.coils
            if step.start is not None:
                planner.begins += [elapsed(builder.scenario.time, step.start)] * step.coils
        planner.repeats = bool(plan.repeat)
    elif any(counts):
        for place, count in enumerate(counts):
            planner.sequence += [place] * count
        planner.repeats = True
