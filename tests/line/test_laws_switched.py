"""A line whose causes are switched set by set makes what a line makes that is built anew with the same records."""

import json
from collections.abc import Sequence
from dataclasses import replace
from random import Random

from hypothesis import given
from hypothesis import strategies as st
from line import lines
from line.judging import clocks, relaxed
from line.odd_cases import odd_case

from twin.line import Scripts
from twin.line.build import build
from twin.line.clock_loop import run
from twin.line.model import Model, model_of
from twin.line.switched import Switched, can_wait

PURE = "compiled" not in clocks()


def apart(records: Scripts) -> tuple[Scripts, list[Scripts]]:
    """Return what must be there from the beginning, and one by one what can wait: every second stop by itself."""
    stops = [
        Scripts(stops={key: own[half::2]}) for key, own in records.stops.items() for half in (0, 1) if own[half::2]
    ]
    numbers = [Scripts(draws={name: own}) for name, own in records.draws.items()]
    waiting = [part for part in (*stops, *numbers, Scripts(sequence=records.sequence)) if can_wait(part)]
    early = {name: own for name, own in records.draws.items() if not can_wait(Scripts(draws={name: own}))}
    return replace(records, stops={}, draws=early, sequence=()), waiting


def together(always: Scripts, parts: Sequence[Scripts]) -> Scripts:
    """Return records that are all there from the beginning."""
    stops: dict[tuple[str, int, str], tuple[tuple[float, float], ...]] = {}
    for part in parts:
        for key, own in part.stops.items():
            stops[key] = tuple(sorted((*stops.get(key, ()), *own)))
    draws = {name: own for part in (always, *parts) for name, own in part.draws.items()}
    sequence = next((part.sequence for part in parts if part.sequence), ())
    return replace(always, stops=stops, draws=draws, sequence=sequence)


def anew(model: Model, records: Scripts, seed: int, number: int) -> float:
    """Return the good mass of a run of a line built anew."""
    line, draws = build(model, seed, number, records, pure=PURE)
    run(line, draws, model, pure=PURE)
    return float(sum(own.total for own in line.good_kg))


@relaxed(150)
@given(lines.any_line(), st.integers(0, 2**32))
def test_any_set_of_records_put_in_is_the_line_built_with_them(text: str, number: int) -> None:
    chance = Random(number)
    plant, records = odd_case(text, chance)
    model = model_of(plant)
    always, parts = apart(records)
    switched = Switched(model, always, parts, pure=PURE)
    for place in (4, 1):
        switched.begin(number, place)
        for _ in range(4):
            inside = [i for i in range(len(parts)) if chance.random() < 0.5]
            told = together(always, [parts[i] for i in inside])
            assert switched.good_kg(inside) == anew(model, told, number, place)


@relaxed(120)
@given(lines.any_line(), st.integers(0, 2**32))
def test_all_sets_at_once_are_the_sets_one_by_one(text: str, number: int) -> None:
    """What sets have in common is run once, which a line that needs no warm-up can do."""
    chance = Random(number)
    content = json.loads(text)
    content["time"].pop("warm_up", None)
    plant, records = odd_case(json.dumps(content), chance)
    always, parts = apart(records)
    chance.shuffle(parts)
    switched = Switched(model_of(plant), always, parts[:6], pure=PURE or chance.random() < 0.2)
    for place in (4, 1):
        switched.begin(number, place)
        found = switched.good_kg_of_all()
        for inside, good in enumerate(found):
            assert good == switched.good_kg([i for i in range(6) if inside >> i & 1]), bin(inside)
