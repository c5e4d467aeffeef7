"""How far wear and habits have come in the morning, by what a log tells of the days before."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from twin.line.found import Found
from twin.logs.reasons import ROLL_CHANGE, ROLL_DAMAGE
from twin.scenario.models import Mill, Slitter
from twin.study.review_records import AT_ONCE_S, LOOKED_BACK, Records, chains

Told = dict[str, Any]
SAME_OWED = 1e-6


class Wear:
    """Reads rolls, knives, planned stops and what is owed out of a log; `assumed` gathers what it does not tell."""

    def __init__(self, records: Records, begin: float, typical: Callable[[], Told], assumed: list[str]) -> None:
        self.records = records
        self.begin = begin
        self.model = records.model
        self.scenario = records.model.scenario
        self.assumed = assumed
        self._typical = typical

    def found(self) -> Found:
        """Return all of it but the rolls."""
        return Found(
            knives=self.knives(),
            services=self.services(),
            sold=self.sold(),
            stayed=self.stayed(),
            behind=self.behind(),
        )

    def rolls(self, name: str) -> Told:
        """Return how far the rolls of a mill have run, and where its other sets are."""
        station, own = self.scenario.stations[name], self.records.log["rolls"]
        assert isinstance(station, Mill) and station.rolls is not None
        offs = sorted(own["off"][(own["station"] == name) & np.isfinite(own["off"])].tolist())
        offs = offs or self._changes(name)
        before, after = [at for at in offs if at <= self.begin], [at for at in offs if at > self.begin]
        told = self._typical().get("rolls", {}).get(name, {})
        if not before or name not in self.records.coils:
            self.assumed.append(f"Since when the rolls of {name} run is not in the log: as on a typical such morning.")
            return dict(told)
        metres, mass = self._rolled(name, before[-1], self.begin)
        whole = self._written_km(name, after[0]) if after else None
        if whole is not None:
            all_metres, _ = self._rolled(name, before[-1], after[0])
            metres *= whole / all_metres if all_metres > 0.0 else 1.0
        by_mass = station.rolls.change_after is not None and station.rolls.change_after.dimension == "mass"
        used = f"{mass!r} kg" if by_mass else f"{metres!r} m"
        if station.rolls.sets is not None:
            self.assumed.append(
                f"Where the other roll sets of {name} are is not in the log: as on a typical such morning."
            )
        return {**told, "used": used}

    def _changes(self, name: str) -> list[float]:
        rows = [one for one in self.records.stops if one.station == name]
        return [one[0].start for one in chains(rows, (ROLL_CHANGE, ROLL_DAMAGE))]

    def _written_km(self, name: str, off: float) -> float | None:
        """Return what the card of a set says that it rolled. [m]"""
        own = self.records.log["rolls"]
        rows = np.flatnonzero((own["station"] == name) & (own["off"] == off) & np.isfinite(own["km"]))
        return float(own["km"][rows[0]]) * 1e3 if len(rows) else None

    def _rolled(self, name: str, start: float, end: float) -> tuple[float, float]:
        """Return metres and kilograms that a mill rolled between two times."""
        metres = mass = 0.0
        table, crop = self.model.tables[name], 1.0 - self.model.scenario.stations[name].crop  # type: ignore[union-attr]
        for one in self.records.coils.get(name, []):
            if one.end > start and one.start < end:
                part = (min(one.end, end) - max(one.start, start)) / max(one.end - one.start, 1e-9)
                pattern = self.records.pattern_of(one)
                lane = 1 + self.model.routes.patterns.index(pattern) if pattern is not None else 0
                mass += part * one.kg / crop
                metres += part * one.kg / crop * table.m_per_kg[lane]
        return metres, mass

    def knives(self) -> dict[tuple[str, int], float]:
        """Return what the knives of each slitter may still cut, where their last change is in the log."""
        found = {}
        for name, station in self.scenario.stations.items():
            if not isinstance(station, Slitter) or station.knives is None or station.machines != 1:
                continue
            changes = [one for one in self.records.stops if one.station == name and one.reason == "knives"]
            last = [one.end for one in changes if one.start < self.begin - AT_ONCE_S]  # one that goes on too
            if not last or station.knives.every.dimension != "length":
                continue
            cut = 0.0
            for one in self.records.coils.get(name, []):
                if one.start >= last[-1] and one.end <= self.begin and not one.parent:
                    pattern = self.records.pattern_of(one)
                    lane = 1 + self.model.routes.patterns.index(pattern) if pattern is not None else 0
                    cut += one.kg * self.model.tables[name].m_per_kg[lane]
            found[name, 1] = station.knives.every.value - cut
        return found

    def sold(self) -> dict[str, float]:
        """Return how many rings of each pattern are owed to those who buy them as coil, by those they got.

        Of several products, a log does not tell which of them was sold.
        """
        found = {}
        for name, own in self.scenario.patterns.items():
            if own.sold_as_coil <= 0.0 or len(own.rings) > 1:
                continue
            if (owed := owed_after(self._sales(name), own.sold_as_coil)) is not None:
                found[name] = owed
        return found

    def behind(self) -> dict[str, float]:
        """Return by how many coils each pattern is behind its share, by what was planned before the morning."""
        own = self.records
        if not own.model.routes.planners or not own.by_shares:
            return {}
        flowing = [name for name in own.model.routes.planners if name in own.model.flowing]
        wound = {one.coil for name in flowing for one in own.coils.get(name, [])}
        before = [
            one
            for one in own.planned
            if (one.end <= self.begin if one.coil in wound else one.start < self.begin - AT_ONCE_S)
        ]
        if not before:
            return {}
        found = own.behind_at(before[-LOOKED_BACK:]).coils
        return dict(zip(own.model.routes.patterns, found, strict=True))

    def stayed(self) -> dict[tuple[str, int], int]:
        """Return how many coils each slitter has taken since it was set up."""
        found = {}
        for name, station in self.scenario.stations.items():
            if not isinstance(station, Slitter) or station.machines != 1 or station.coils_per_pattern is None:
                continue
            coils = [one for one in self.records.coils.get(name, []) if not one.parent]
            taken = [self.records.pattern_of(one) for one in coils if one.start < self.begin - AT_ONCE_S]
            if taken:
                found[name, 1] = next((k for k, own in enumerate(reversed(taken)) if own != taken[-1]), len(taken))
        return found

    def _sales(self, pattern: str) -> list[bool]:
        """Tell of each ring of a pattern that was slit before the morning whether it was sold as it was."""
        rings = self.scenario.patterns[pattern].rings
        sales = []
        for name, station in self.scenario.stations.items():
            rows = self.records.coils.get(name, []) if isinstance(station, Slitter) else []
            known = {one.coil: self.records.pattern_of(one) for one in rows if not one.parent}
            for one in sorted(rows, key=lambda own: (own.end, own.line)):
                if one.parent and one.end <= self.begin and known.get(one.parent) == pattern:
                    sales.append(self.records.product_of.get((name, one.coil), "") not in rings)
        return sales

    def services(self) -> dict[tuple[str, int, str], float]:
        """Return the running time until the next planned stop of furnaces and casters, where the last is in the log."""
        found = {}
        for name, station in self.scenario.stations.items():
            for reason in ("skimming", "service"):
                own = getattr(station, reason, None)
                if own is None:
                    continue
                for number in range(1, station.machines + 1):
                    rows = self.records.stops_of.get((name, number), [])
                    last = [one.end for one in rows if one.reason == reason and one.end <= self.begin]
                    if last:
                        ran = self.records.worked(name, last[-1], self.begin)
                        ran -= self.records.standing(name, number, last[-1], self.begin)
                        found[name, number, reason] = own.every - ran
        return found


def owed_after(sales: Sequence[bool], share: float) -> float | None:
    """Return what is owed after some rings of which a share is sold, each as soon as a whole one is owed.

    Which ones were sold bounds what was owed at first; None where they were not sold in that manner, or were too few.
    """
    low, high, sold = 0.0, 1.0, 0
    for count, is_sold in enumerate(sales, start=1):
        bound = 1.0 + sold - count * share
        low, high = (max(low, bound), high) if is_sold else (low, min(high, bound))
        sold += is_sold
    if not sold or low > high + SAME_OWED:
        return None
    return min(1.0, max(0.0, 0.5 * (low + high) + len(sales) * share - sold))
