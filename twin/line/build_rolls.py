"""Rolls on the mills, and the roll shops that serve them."""

from __future__ import annotations

from twin.line.builder import LOWEST_PLACE, Builder
from twin.line.model import SHOP, shop_people
from twin.line.rules import state as st
from twin.scenario.calendars import moments
from twin.scenario.laws import Constant
from twin.scenario.models import (
    AtTimes,
    Mill,
    Rolls,
    WhenIdle,
)


def add_shop(builder: Builder, name: str) -> None:
    """Make a mill's roll shop, its people and sets, and put rolls on its machines."""
    station = builder.scenario.stations[name]
    assert isinstance(station, Mill) and station.rolls is not None
    rolls, own = station.rolls, station.rolls.shop
    index = len(builder.line.shops)
    shop: st.Shop = builder.make.Shop(index, builder.make.Clock(st.C_SHOP, index, st.FIRST_ENDS), builder.spare.nothing)
    shop.unlimited = rolls.sets is None or own is None
    if own is not None:
        set_shop(builder, shop, name, rolls)
    for number in range(rolls.sets or 0):
        shop.sets.append(builder.make.RollSet(number + 1, shop.new_diameter))
    for number in range(shop_people(builder.scenario, name)):
        person = builder.new_machine(
            name + SHOP, number + 1, st.GRINDER, builder.calendar(own.calendar if own else None)
        )
        person.place = LOWEST_PLACE
        person.shop = shop
        shop.people.append(person)
    for place, machine in enumerate(builder.machines[name]):
        shop.mills.append(machine)
        set_rolls(builder, machine, station, rolls, shop, place)
    builder.line.shops.append(shop)


def set_shop(builder: Builder, shop: st.Shop, name: str, rolls: Rolls) -> None:
    """Set the times and diameters of a roll shop."""
    own = rolls.shop
    assert own is not None
    key = f"{name}{SHOP}"
    shop.cool = builder.stream(f"{key}/cool", own.cool)
    shop.grind = builder.stream(f"{key}/grind", own.grind)
    shop.extra = builder.stream(f"{key}/extra", own.extra_after_damage)
    shop.assemble = builder.stream(f"{key}/assemble", own.assemble)
    shop.heating = builder.stream(f"{key}/heating", rolls.heating or Constant(0.0, "time"))
    if own.back_up is not None:
        shop.back_up_every = int(own.back_up.every)
        shop.back_up_grind = builder.stream(f"{key}/back-up", own.back_up.grind)
    shop.removes = own.removes
    shop.removes_damage = own.removes_after_damage
    shop.new_diameter = own.new or 0.0
    shop.scrap_below = own.scrap_below or -st.NEVER


def set_rolls(builder: Builder, machine: st.Machine, station: Mill, own: Rolls, shop: st.Shop, place: int) -> None:
    """Put rolls on one mill."""
    key = f"{station.name}/{machine.number}"
    nothing = builder.spare.nothing
    dimension = own.damage.dimension if own.damage is not None else "length"
    counts = {"mass": st.BY_MASS, "time": st.BY_TIME}.get(dimension, st.BY_LENGTH)
    life: st.Cause = builder.make.Cause(
        counts,
        builder.stream(f"{key}/life", own.damage or Constant(st.NEVER, "length")),
        nothing,
        nothing,
        machine.calendar,
    )
    life.rolls = True
    first = shop.sets[place] if place < len(shop.sets) else builder.make.RollSet(place + 1, shop.new_diameter)
    first.stage = st.ON_MILL
    clock = builder.make.Clock(st.C_ROLL_TIME, machine.index, st.THEN_CALENDARS)
    rolls: st.Rolls = builder.make.Rolls(first, shop, life, clock)
    rolls.used = True
    rolls.change = builder.stream(f"{key}/change", own.change)
    rolls.damaged_change = builder.stream(f"{key}/damaged change", own.damaged_change)
    rolls.damage_scrap = builder.stream(f"{key}/damage scrap", own.damage_scrap)
    rolls.calendar = builder.calendar(own.calendar) if own.calendar else machine.calendar
    rolls.shared = builder.crew(own.needs)
    if own.first_coil is not None:
        rolls.first_slower = own.first_coil.slower
        rolls.first_scrap = builder.stream(f"{key}/first coil", own.first_coil.scrap)
    else:
        rolls.first_scrap = nothing
    set_roll_rules(builder, rolls, own)
    machine.rolls = rolls
    if own.damage is not None:
        machine.causes.append(life)
    if not machine.discrete and machine.coil_kg >= st.NEVER:
        machine.causes.append(limit_in_flow(builder, machine, rolls))


def set_roll_rules(builder: Builder, rolls: st.Rolls, own: Rolls) -> None:
    """Set when rolls are to come off."""
    if own.change_after is not None:
        rolls.limit = own.change_after.value
        rolls.limit_in_mass = own.change_after.dimension == "mass"
    for rule in own.rule:
        if isinstance(rule, WhenIdle):
            rolls.idle_after = rule.after.value
            rolls.idle_in_mass = rule.after.dimension == "mass"
            rolls.keep_ready = rule.keep_ready
        elif isinstance(rule, AtTimes):
            rolls.times = moments(rule.times, builder.scenario.time, builder.model.end)
            rolls.clock.at = rolls.times[0] if rolls.times else st.NEVER


def limit_in_flow(builder: Builder, machine: st.Machine, rolls: st.Rolls) -> st.Cause:
    """In a mill that never ends a coil the limit comes in mid-strip."""
    limit = builder.make.Stream(-1, rolls.limit)
    nothing = builder.spare.nothing
    cause: st.Cause = builder.make.Cause(
        st.BY_MASS if rolls.limit_in_mass else st.BY_LENGTH, limit, nothing, nothing, machine.calendar
    )
    cause.rolls = True
    cause.service = True
    return cause
