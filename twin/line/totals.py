"""What one run counted, as named flat numbers in a fixed order, and their digest."""

import hashlib
import math
from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from twin.line.model import Layout, Model
from twin.line.rules import state as st

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Totals:
    """The counts of one run after its warm-up; M machines, P products and what has none, S stores, R mills with rolls.

    Attributes
    ----------
    layout : Names by place.
    duration_s, warm_up_s : Time counted, time before it. [s]
    state_s : Time of each machine in each of the eight states, (M, 8). [s]
    slowed_s : Running time lost to running below the nominal speed, (M,). [s]
    out_kg, coils, pieces, stops, turned_away, charged_kg : Of each machine, (M,).
    scrap : (station, reason, kg), only what is not nothing.
    good_kg, pieces_good : Of each product, (P + 1,).
    store_level_s, store_peak, store_full_s, store_empty_s : Of each store, (S,), kg or coils or pieces.
    rolls_changes, rolls_damages, rolls_km_sum, rolls_change_s, rolls_wait_set_s : Of each mill with rolls, (R,). [km]
    lead_time_s : Of each mother coil whose last part was finished. [s]
    wip_kg_s : Integral of the metal in the line. [kg s]
    day_good_kg, day_start_s : Good by local day and product, and where each day begins; the ends may be part days.
    active : (time [s], machine, state, with 8 more when slowed and 16 more when a roll set is awaited) of each change,
        empty if not asked for.
    shared_busy_s : Time that each crane or crew was busy. [s]
    mass_error_kg, time_error_s : What does not close. [kg], [s]
    events, mother_coils : Events that happened, mother coils that came to be.
    """

    layout: Layout
    duration_s: float
    warm_up_s: float
    state_s: Floats
    slowed_s: Floats
    out_kg: Floats
    coils: Floats
    pieces: Floats
    stops: Floats
    turned_away: Floats
    charged_kg: Floats
    scrap: tuple[tuple[str, str, float], ...]
    good_kg: Floats
    pieces_good: Floats
    store_level_s: Floats
    store_peak: Floats
    store_full_s: Floats
    store_empty_s: Floats
    rolls_changes: Floats
    rolls_damages: Floats
    rolls_km_sum: Floats
    rolls_change_s: Floats
    rolls_wait_set_s: Floats
    lead_time_s: Floats
    wip_kg_s: float
    day_good_kg: Floats
    day_start_s: Floats
    active: tuple[Floats, NDArray[np.int64], NDArray[np.int64]]
    shared_busy_s: Floats
    mass_error_kg: float
    time_error_s: float
    events: int
    mother_coils: int

    @property
    def digest(self) -> str:
        """Return the SHA-256 of all numbers: two runs agree to the last bit when their digests do."""
        seal = hashlib.sha256()
        for own in fields(self):
            value = getattr(self, own.name)
            parts = value if own.name == "active" else (value,)
            for part in parts:
                seal.update(part.tobytes() if isinstance(part, np.ndarray) else repr(part).encode())
        return seal.hexdigest()


def totals_of(line: st.Line, model: Model, store_names: list[str]) -> Totals:
    """Gather what a finished run counted."""
    machines = line.machines
    duration = model.end - model.warm_up
    mills = [mill_rolls(line, model, name) for name in model.layout.mills]
    stores = store_sums(line, model, store_names)
    return Totals(
        layout=model.layout,
        duration_s=duration,
        warm_up_s=model.warm_up,
        state_s=np.array([plain(machine.times) for machine in machines]).reshape(-1, 8),
        slowed_s=np.array([machine.slowed_s for machine in machines]),
        out_kg=np.array([machine.out_kg for machine in machines]),
        coils=np.array([float(machine.coils) for machine in machines]),
        pieces=np.array([machine.pieces for machine in machines]),
        stops=np.array([float(machine.stops) for machine in machines]),
        turned_away=np.array([float(machine.turned_away) for machine in machines]),
        charged_kg=np.array([machine.charged_kg for machine in machines]),
        scrap=scrap_rows(line, model),
        good_kg=np.array(plain(line.good_kg)),
        pieces_good=np.array(plain(line.good_pieces)),
        store_level_s=stores[0],
        store_peak=stores[1],
        store_full_s=stores[2],
        store_empty_s=stores[3],
        rolls_changes=np.array([own[0] for own in mills]),
        rolls_damages=np.array([own[1] for own in mills]),
        rolls_km_sum=np.array([own[2] / 1000.0 for own in mills]),
        rolls_change_s=np.array([own[3] for own in mills]),
        rolls_wait_set_s=np.array([own[4] for own in mills]),
        lead_time_s=np.array(line.lead_times),
        wip_kg_s=line.wip_kg_s,
        day_good_kg=by_day(line),
        day_start_s=np.array([model.warm_up, *line.days[: len(line.day_rows) // len(line.good_kg)]]),
        active=active_rows(line),
        shared_busy_s=np.array([shared.busy_s for shared in line.shared]),
        mass_error_kg=line.warm_kg + line.in_kg - line.out_kg - stock_kg(line),
        time_error_s=max((abs(math.fsum(plain(machine.times)) - duration) for machine in machines), default=0.0),
        events=line.events,
        mother_coils=line.mothers,
    )


def plain(sums: Sequence[st.Sum]) -> list[float]:
    """Return sums as plain numbers."""
    return [own.total for own in sums]


def mill_rolls(line: st.Line, model: Model, name: str) -> tuple[float, float, float, float, float]:
    """Return changes, damages, metres, time of changes and waits for a set of one station's mills."""
    place = model.layout.stations.index(name)
    rolls = [machine.rolls for machine in line.machines if machine.station == place]
    return (
        float(sum(own.changes for own in rolls)),
        float(sum(own.damages for own in rolls)),
        math.fsum(own.km_sum for own in rolls),
        math.fsum(own.change_s for own in rolls),
        math.fsum(own.wait_s for own in rolls),
    )


def store_sums(line: st.Line, model: Model, names: list[str]) -> tuple[Floats, Floats, Floats, Floats]:
    """Return level, peak, time full and time empty of each store; those of pairs of machines together.

    What reaches a finished store without a bound has left the line: nothing lies there.
    """
    sums = np.zeros((4, len(model.layout.stores)))
    pairs = np.zeros(len(model.layout.stores))
    for store, name in zip(line.stores, names, strict=True):
        place = model.layout.stores.index(name)
        if store.finished and store.capacity >= st.NEVER:
            pairs[place] = 1
            continue
        sums[:, place] += (store.level_s, store.peak, store.full_s, store.empty_s)
        pairs[place] += 1
    return sums[0], sums[1], sums[2] / pairs, sums[3] / pairs


def scrap_rows(line: st.Line, model: Model) -> tuple[tuple[str, str, float], ...]:
    """Return scrap by station and reason."""
    sums: dict[tuple[str, str], float] = {}
    for machine in line.machines:
        for own, reason in zip(machine.scrap, model.reasons, strict=True):
            if own.total != 0.0:
                key = model.layout.stations[machine.station], reason
                sums[key] = sums.get(key, 0.0) + own.total
    return tuple((*key, kilograms) for key, kilograms in sums.items())


def by_day(line: st.Line) -> Floats:
    """Return good product by day: differences of what had been made at each midnight and at the end."""
    rows = made_by(line)
    rows[1:] -= rows[:-1].copy()
    return rows


def made_by(line: st.Line) -> Floats:
    """Return what had been made of each product at each midnight that was counted, and at the end. [kg]"""
    return np.concatenate((np.array(line.day_rows), plain(line.good_kg))).reshape(-1, len(line.good_kg))


def active_rows(line: st.Line) -> tuple[Floats, NDArray[np.int64], NDArray[np.int64]]:
    """Return the log of states as arrays."""
    rows = np.array(line.active_rows)
    machine, state = np.divmod(rows[1::2].astype(np.int64), 32)
    return rows[0::2], machine, state


def stock_kg(line: st.Line) -> float:
    """Weigh all metal in the line: in stores, in machines, waiting behind them."""
    parts: list[float] = []
    for store in line.stores:
        if store.finished:
            continue
        if store.holds == st.COILS:
            parts += [coil.mass for lane in store.lanes for coil in lane.coils[lane.head :]]
        else:
            parts.append(store.level * (store.piece_kg if store.holds == st.PIECES else 1.0))
    for machine in line.machines:
        if machine.kind != st.SUPPLY:
            parts += [coil.mass for coil in machine.out[machine.out_at : machine.out_end]]
        parts.append(in_machine(machine))
    return math.fsum(parts)


def in_machine(machine: st.Machine) -> float:
    """Weigh what is in a machine: a coil, what is left of a ring, what has been wound of a coil."""
    if machine.has_coil:
        if machine.discrete or machine.left >= st.NEVER:
            return machine.coil.mass
        return machine.left * machine.unit_kg
    if not machine.discrete and machine.coil_kg < st.NEVER:
        return machine.coil_kg - machine.left
    return 0.0
