"""Streams of random numbers in a line: what each is called, and that no draw hangs on another's."""

from collections.abc import Sequence
from typing import Any

import pytest
from line.by_hand import COILS, SUPPLY, Parts, plant
from line.judging import clocks

from twin.line import simulate
from twin.line.build import build
from twin.line.draws import FIRST_BLOCK, KEPT, Draws, Kept, Span
from twin.line.model import model_of
from twin.line.normal import Floats
from twin.line.rules.state import Line
from twin.line.streams import source, stream_key, uniforms
from twin.scenario import apply_set, loads
from twin.scenario.laws import Exponential, Uniform

TIME: Parts = {"exponential": {"mean": "10 min"}}
ROLLS = {
    "sets": 3,
    "change_after": "5 km",
    "change": {"triangular": {"low": "20 min", "mode": "30 min", "high": "45 min"}},
    "damage": {"weibull": {"shape": 2.0, "scale": "20 km"}},
    "shop": {"grind": {"uniform": {"low": "1 h", "high": "2 h"}}, "calendar": "day"},
}
FAILURE = {
    "reason": "break",
    "every": {"exponential": {"mean": "9 h"}},
    "repair": {"gamma": {"mean": "1 h", "cv": 0.5}},
}


def line(minutes: float = 6000, **mill: Any) -> str:  # noqa: ANN401
    stations = {
        "supply": SUPPLY | {"every": TIME},
        "mill": {
            "kind": "mill",
            "from": "ready",
            "to": "gap",
            "speed": "20 m/min",
            "rolls": ROLLS,
            "failures": [FAILURE],
        }
        | mill,
        "step": {"kind": "step", "from": "gap", "to": "done", "time": TIME, "machines": 2},
    }
    stores = {"ready": COILS, "gap": COILS, "done": COILS}
    calendars = {"day": {"open": ["Mon-Sun 06:00-14:00"]}}
    return plant(stores, stations, minutes, calendars=calendars)


def names(text: str) -> list[str]:
    return [own.name for own in build(model_of(loads(text)), 1, 0, pure=True)[1].sources]


def test_every_cause_has_a_stream_named_by_station_machine_and_what_is_drawn() -> None:
    assert set(names(line())) == {
        "supply/1/every",
        "mill/1/every break",
        "mill/1/repair break",
        "mill/1/change",
        "mill/1/damaged change",
        "mill/1/life",
        "mill roll shop/grind",
        "step/1/time",
        "step/2/time",
    }


def test_what_is_constant_needs_no_stream() -> None:
    assert "mill/1/change" not in names(line(rolls=ROLLS | {"change": "30 min"}))


def first(text: str, name: str, count: int = 20, *, seed: int = 1, run: int = 0) -> list[float]:
    made, draws = build(model_of(loads(text)), seed, run, pure=True)
    return list(values_of(made, draws, name)[:count])


def values_of(made: Line, draws: Draws, name: str) -> Sequence[float]:
    place = next(place for place, own in enumerate(draws.sources) if own.name == name)
    return made.streams[place].values


def test_a_changed_option_leaves_every_other_draw_as_it_was() -> None:
    """Another machine, another law elsewhere, another failure: the mill's repairs are the same."""
    plain = line()
    other = line(failures=[FAILURE, FAILURE | {"reason": "strip"}], rolls=ROLLS | {"change": TIME})
    more = apply_set(loads(plain), "stations.step.machines", "3")
    assert first(plain, "mill/1/repair break") == first(other, "mill/1/repair break")
    made, draws = build(model_of(more), 1, 0, pure=True)
    assert list(values_of(made, draws, "step/1/time")[:20]) == first(plain, "step/1/time")


def test_machines_runs_and_seeds_draw_apart() -> None:
    text = line()
    drawn = [
        first(text, "step/1/time"),
        first(text, "step/2/time"),
        first(text, "step/1/time", run=1),
        first(text, "step/1/time", seed=2),
    ]
    assert len({tuple(numbers) for numbers in drawn}) == 4


def test_a_stream_is_a_pure_function_of_seed_run_and_name() -> None:
    assert stream_key(7, "a") == stream_key(7, "a") != stream_key(8, "a")
    block = uniforms(7, 3, ["a", "b"], 0, 8)
    assert (uniforms(7, 3, ["b", "a"], 0, 8)[::-1] == block).all()


def test_a_stream_that_is_used_up_is_filled_without_a_seam() -> None:
    """A line that draws some thousands of times from one stream draws what one long block holds."""
    text = plant(
        {"ready": COILS | {"capacity": 1}, "done": COILS},
        {"supply": SUPPLY, "work": {"kind": "step", "from": "ready", "to": "done", "time": TIME}},
        40000,
    )
    run = simulate(loads(text), seed=5, clock="pure", trace=True)
    assert run.trace is not None
    ended = run.trace.tables["coils"]["end_s"]
    lasts = ended[1:] - ended[:-1]
    assert len(lasts) > 3000
    from twin.line.streams import scale
    from twin.scenario.laws import Exponential

    whole = scale(Exponential(600.0, "time"), uniforms(5, 0, ["work/1/time"], 0, 5000)[0])
    assert lasts == pytest.approx(whole[1 : len(lasts) + 1], abs=1e-6)


@pytest.mark.parametrize("run", [0, 3])
def test_a_run_repeats_to_the_last_bit_under_every_clock(run: int) -> None:
    scenario = loads(line())
    digests = {simulate(scenario, run=run, clock=clock).totals.digest for clock in clocks()}
    digests |= {simulate(scenario, run=run, clock="pure", trace=True).totals.digest}
    assert len(digests) == 1


def test_a_kept_stream_is_the_same_as_a_drawn_one_however_much_is_forgotten() -> None:
    laws = Exponential(2.0, "time"), Uniform(1.0, 3.0, "time")
    sources = [source(name, law) for name in ("a/1/time", "b/1/time", "c/1/time") for law in laws]

    def of(start: int, end: int) -> list[Span]:
        return [Span(one, start, end) for one in sources]

    def told(rows: list[Floats]) -> list[list[float]]:
        return [row.tolist() for row in rows]

    fresh = [told(Kept().take(5, 1, [one]))[0] for one in of(0, 400)]
    little = Kept(most=700)
    for _ in range(2):
        for first, more, whole in zip(of(0, 96), of(96, 400), fresh, strict=True):
            assert told(little.take(5, 1, [first]))[0] == whole[:96]
            assert told(little.take(5, 2, [first]))[0] != whole[:96]
            assert told(little.take(5, 1, [more]))[0] == whole[96:]
    assert told(Kept().take(5, 1, of(0, 400))) == fresh
    ahead = Kept()
    ahead.take(5, 0, of(0, 96), then=[1])
    assert told(ahead.take(5, 1, of(0, 400))) == fresh


def test_two_who_draw_from_one_source_do_not_change_what_it_gives() -> None:
    one = source("a/1/unload", Exponential(2.0, "time"))
    alone = Kept().take(5, 1, [Span(one, 0, 400)])[0].tolist()
    both = Kept()
    parts = [both.take(5, 1, [Span(one, start, end)] * 2) for start, end in ((0, 96), (96, 192), (192, 400))]
    for first, second, third in zip(*parts, strict=True):
        assert [*first, *second, *third] == alone


def test_no_more_is_kept_than_may_be_but_for_the_last_run() -> None:
    one = [Span(source("a/1/time", Exponential(2.0, "time")), 0, 400)]
    kept = Kept(most=900)
    for run in range(5):
        kept.take(5, run, one)
        assert kept.numbers <= 900
    little = Kept(most=100)
    little.take(5, 0, one)
    assert little.numbers == 400


def test_how_many_numbers_are_drawn_at_once_changes_nothing() -> None:
    model = model_of(loads(line(minutes=60_000)))
    first = simulate(model.scenario, clock="pure").totals
    assert max(model.used.values()) > 2 * FIRST_BLOCK
    KEPT.forget()
    assert simulate(model.scenario, clock="pure").totals.digest == first.digest
