"""Calendars, cranes and crews, stores: the parts of a line that stand by themselves."""

from __future__ import annotations

from twin.line.builder import Builder
from twin.line.model import paired
from twin.line.reasons import HOLDS
from twin.line.rules import state as st


def add_calendars(builder: Builder) -> None:
    """Make the calendars, `always` among them."""
    for index, (name, (is_open, turns)) in enumerate(builder.model.turns.items()):
        clock = builder.make.Clock(st.C_CALENDAR, index, st.THEN_CALENDARS + index)
        calendar = builder.make.Calendar(index, clock)
        calendar.open = is_open
        calendar.turns = turns
        clock.at = turns[0] if turns else st.NEVER
        builder.calendars[name] = calendar
        builder.line.calendars.append(calendar)


def add_shared(builder: Builder) -> None:
    """Make cranes and crews, each with its slots."""
    for index, (name, own) in enumerate(builder.scenario.shared.items()):
        shared = builder.make.Shared(index, builder.calendar(own.calendar))
        shared.calendar.shared.append(shared)
        for _ in range(own.count):
            place = len(builder.line.slots)
            slot = builder.make.Slot(place, builder.make.Clock(st.C_SLOT, place, st.FIRST_ENDS))
            shared.slots.append(slot)
            builder.line.slots.append(slot)
        builder.shared[name] = shared
        builder.line.shared.append(shared)


def add_stores(builder: Builder) -> None:
    """Make the stores; one of strip or pieces between pairs of machines once for each pair."""
    for name, own in builder.scenario.stores.items():
        copies = []
        for _ in range(paired(builder.scenario, name)):
            place = len(builder.line.stores)
            store = builder.make.Store(place, HOLDS.index(own.holds), builder.make.Clock(st.C_STORE, place, 0))
            store.capacity = st.NEVER if own.capacity is None else own.capacity
            store.heel = own.heel
            store.level = own.heel
            store.rest = own.rest
            store.keeps = st.NEVER if own.keeps is None else own.keeps
            store.finished = name in builder.model.finished
            store.lanes = [builder.make.Lane() for _ in range(builder.ways.lanes)]
            store.drawn = [lane in builder.ways.drawn[name] for lane in range(builder.ways.lanes)]
            copies.append(store)
            builder.line.stores.append(store)
        builder.stores[name] = copies
