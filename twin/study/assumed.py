"""What the answer takes for granted, in sentences: what the file leaves out, and what it gives no scatter."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from pydantic import BaseModel

from twin.indicators.verdict import length_in_words
from twin.scenario import Law, Scenario
from twin.scenario.models import Caster

HOUR_S = 3600.0
BEGINNINGS = {
    "empty": "an empty line",
    "typical": "the state of an ordinary week",
    "now": "the state given in the file",
}


def assumed(scenario: Scenario) -> list[str]:
    """Return what the numbers of a scenario rest on, one sentence each."""
    stations = scenario.stations
    lifting = [name for name, own in stations.items() if own.handling is None and _lifts(scenario, own.source)]
    holding = [name for name, own in stations.items() if isinstance(own, Caster) and own.patience > 0.0]
    said = [
        _listed(
            "Taken never to stop, as no failures are given", [n for n, own in stations.items() if not own.failures]
        ),
        _listed("Taken to work day and night", [n for n, own in stations.items() if own.calendar in (None, "always")]),
        _listed("Taken to need no time for lifting coils", lifting),
        _listed("Taken to bear one hold after the other, each no longer than its patience", holding),
        _demand(scenario),
        _scatter(scenario),
        _start(scenario),
        "Nobody is ill and no delivery is late, unless a failure in the file says so.",
    ]
    return [sentence for sentence in said if sentence]


def finished_stores(scenario: Scenario) -> set[str]:
    """Return the stores that no station draws on: what lies there is done."""
    return set(scenario.stores) - {station.source for station in scenario.stations.values() if station.source}


def _lifts(scenario: Scenario, source: str | None) -> bool:
    """Return whether a station draws on a store of coils, which somebody must lift."""
    return source is not None and scenario.stores[source].holds == "coils"


def _listed(what: str, names: list[str]) -> str:
    """Name the stations that something is taken of; nothing where there is none."""
    if not names:
        return ""
    text = ", ".join(names[:-1]) + " and " + names[-1] if len(names) > 1 else names[0]
    return f"{what}: {text}."


def _demand(scenario: Scenario) -> str:
    """Say what is taken to sell."""
    limits = scenario.money.demand if scenario.money else {}
    if scenario.orders:
        many = len(scenario.orders)
        book = "1 order is on the book" if many == 1 else f"{many} orders are on the book"
        return f"{book}; what is made beyond is taken to sell."
    if limits:
        return f"Sales are limited for {', '.join(limits)}; all else that is made is taken to sell."
    return "All that is made is taken to sell: the file gives no demand."


def _scatter(scenario: Scenario) -> str:
    """Say how many times and distances scatter."""
    kinds = Counter("fixed" if type(law).__name__ == "Constant" else "random" for law in laws_in(scenario.stations))
    return f"{kinds['random']} times and distances scatter as the file says; {kinds['fixed']} are always the same."


def laws_in(value: object) -> Iterator[Law]:
    """Return all laws that stand anywhere in a part of a scenario; a plain zero is left out, as nobody gave it."""
    if isinstance(value, Law):
        if type(value).__name__ != "Constant" or value.average > 0.0:
            yield value
    elif isinstance(value, dict):
        for own in value.values():
            yield from laws_in(own)
    elif isinstance(value, list | tuple):
        for own in value:
            yield from laws_in(own)
    elif isinstance(value, BaseModel):
        for name in type(value).model_fields:
            yield from laws_in(getattr(value, name))


def _start(scenario: Scenario) -> str:
    """Say from which state the runs start."""
    warm_up = scenario.time.warm_up
    before = f"{length_in_words(warm_up / HOUR_S)} of warm-up, not counted" if warm_up else "no warm-up"
    return f"The runs start from {BEGINNINGS[scenario.start.mode]}, with {before}."
