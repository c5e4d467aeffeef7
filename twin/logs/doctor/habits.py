"""How people write: times in round figures, short stops left out, reasons in words of their own."""

from __future__ import annotations

from difflib import get_close_matches

import numpy as np

from twin.logs.doctor.findings import Case, Finding, counted, lasted, listed, stations
from twin.logs.doctor.spans import resolution
from twin.logs.reasons import FIXED, WAITING, class_of
from twin.logs.tables import Array

STEPS_MIN = (15, 10, 5)
FEW, MANY = 20, 40
SHORTEST_MIN = (10, 5, 3, 2, 1)
_SURE = 1e-6


def rounding(case: Case) -> Case:
    """Find stations whose stops stand at multiples of 5, 10 or 15 minutes more often than chance has it."""
    from scipy.special import bdtrc

    stops, found = case.log["stops"], []
    for station, rows in stations(stops):
        times = np.concatenate([stops["start"][rows], stops["end"][rows]])
        times = times[np.isfinite(times)]
        if len(rows) < FEW:
            continue
        for step in STEPS_MIN:
            hits = int((np.abs(times % (60.0 * step)) < 0.5).sum())
            chance = resolution(times) / (60.0 * step)
            share = hits / len(times)
            if share > 0.6 and float(bdtrc(hits - 1, len(times), min(chance, 0.5))) < _SURE:
                words = (
                    f"{100.0 * share:.0f} % of the times of {station} stand at multiples of {step} min "
                    f"({100.0 * chance:.1f} % by chance): each length is uncertain by about {step * 0.41:.1f} min"
                )
                lines = listed(stops, rows)
                way_out = "Write times to the minute, or let the machine write them"
                found.append(
                    Finding(
                        "rounding",
                        "stops",
                        station,
                        lines,
                        len(rows),
                        "marked",
                        words,
                        way_out,
                        None,
                        value=60.0 * step,
                        file=stops.file,
                    )
                )
                break
    return case.with_log(case.log, *found)


def minor_stops(case: Case) -> Case:
    """Find stations where stops below some round length are missing though many lie just above it.

    Behind times in round figures this cannot be seen.
    """
    stops, found = case.log["stops"], []
    rounded = {one.station for one in case.findings if one.kind == "rounding"}
    for station, rows in stations(stops):
        if station in rounded:
            continue
        known = case.reasons.get(station)
        down = np.array(
            [class_of(reason) == "down" and (known is None or reason in known) for reason in stops["reason"][rows]],
            dtype=bool,
        )
        lasted = (stops["end"] - stops["start"])[rows][down]
        least = _cut_at(lasted[lasted > 0.0])
        if least is None:
            continue
        lost = _missing(lasted, least)
        words = (
            f"no stop of {station} below {least / 60.0:.0f} min is recorded, though {_just_above(lasted, least)} lie "
            "between that and twice as much: short stops are missing, and hide in a lower speed"
        )
        way_out = "Count short stops at the machine; until then speed and short stops are taken together"
        effect = case.tonnes(station, lost)
        found.append(
            Finding("minor stops", "stops", station, (), int(down.sum()), "marked", words, way_out, effect, value=least)
        )
    return case.with_log(case.log, *found)


def _cut_at(lasted: Array) -> float | None:
    """Return the round length below which nothing stands and above which much stands [s]."""
    for minutes in SHORTEST_MIN:
        least = 60.0 * minutes
        if len(lasted) and least - 1.0 <= float(lasted.min()) <= 1.1 * least and _just_above(lasted, least) >= MANY:
            return least
    return None


def _just_above(lasted: Array, least: float) -> int:
    return int(((lasted >= least - 1.0) & (lasted < 2.0 * least)).sum())


def _missing(lasted: Array, least: float) -> float:
    """Return the time that stops below a length would take, were they as dense as those just above it [s]."""
    return _just_above(lasted, least) * least / 2.0


def free_text(case: Case) -> Case:
    """List reasons that are no word of the scenario or the mapping, by minutes, with the nearest known word."""
    stops = case.log["stops"]
    if case.scenario is None or not len(stops):
        return case
    found = []
    waits = {f"{WAITING} for {what}" for what in (*case.scenario.shared, "roll set", "people", "knives")}
    known = set(FIXED) | {WAITING} | waits | set(case.mapping.reasons.values())
    took = np.nan_to_num(stops["end"] - stops["start"])
    for station, rows in stations(stops):
        own = known | case.reasons.get(station, set())
        strange: dict[str, list[int]] = {}
        for at in rows:
            reason = str(stops["reason"][at])
            if reason not in own:
                strange.setdefault(reason, []).append(int(at))
        for reason, places in sorted(strange.items()):
            found.append(_strange(case, station, reason, places, float(took[places].sum()), own))
    return case.with_log(case.log, *found)


def _strange(case: Case, station: str, reason: str, places: list[int], seconds: float, known: set[str]) -> Finding:
    stops, near = case.log["stops"], get_close_matches(reason, sorted(known), n=1)
    said = f"'{reason}'" if reason else "no reason at all"
    give = "gives" if len(places) == 1 else "give"
    many = counted(len(places), "stop")
    words = f"{many} of {station} ({lasted(seconds)}) {give} {said}, which is mapped to nothing"
    guess = f"'{near[0]}'" if near else "the scenario's word"
    way_out = f"Write reasons: {{{reason or '...'}: ...}} in mapping.yaml" + (f"; perhaps {guess}" if near else "")
    lines, effect = listed(stops, np.array(places)), case.tonnes(station, seconds)
    return Finding(
        "free text",
        "stops",
        station,
        lines,
        len(places),
        "marked",
        words,
        way_out,
        effect,
        value=seconds,
        file=stops.file,
    )
