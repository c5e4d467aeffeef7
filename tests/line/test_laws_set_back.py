"""A line that is set back is the line built anew: whatever has happened to it, nothing of it is left."""

import ast
import gc
import tracemalloc
from pathlib import Path
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from line import by_hand, lines
from line.bytes_of import fingerprint
from line.judging import relaxed
from line.odd_cases import odd_case
from line.same_state import difference
from line.texts import exponential, in_a_row

from twin.line import Scripts, simulate
from twin.line.build import build
from twin.line.clock_loop import run_to
from twin.line.model import model_of
from twin.line.ready import Ready, line_for
from twin.line.rules import counting, moment, run
from twin.line.rules import state as parts
from twin.scenario import loads

RULES = Path(run.__file__).parent
STARTS = [RULES.parent / f"{name}.py" for name in ("found", "start", "start_machines", "start_rolls", "draws")]
cases = given(lines.any_line(), st.integers(0, 2**32))


def disturb(ready: Ready, seed: int, number: int, until: float, *, trace: bool) -> None:
    """Let a line make part of a run, and leave it there."""
    ready.begin(seed, number)
    ready.line.trace, ready.line.active_log = trace, not trace
    run.begin(ready.line)
    run_to(ready.line, ready.draws, 0.4 * until, pure=True)
    counting.start_counting(ready.line)
    run_to(ready.line, ready.draws, until, pure=True)


@relaxed(60)
@cases
def test_a_line_set_back_is_in_every_field_the_line_built_anew(text: str, number: int) -> None:
    chance = Random(number)
    plant, scripts = odd_case(text, chance)
    model = model_of(plant)
    ready = Ready(model, scripts, pure=True)
    for _ in range(3):
        disturb(ready, number, chance.randint(0, 9), model.end * chance.random(), trace=chance.random() < 0.3)
    ready.begin(7, 3)
    assert difference(ready.line, build(model, 7, 3, scripts, pure=True)[0]) is None


@relaxed(30)
@cases
def test_a_line_set_back_to_the_middle_of_a_run_goes_on_as_it_did(text: str, number: int) -> None:
    chance = Random(number)
    plant, scripts = odd_case(text, chance)
    model = model_of(plant)
    made: list[parts.Line] = []
    for again in (False, True):
        line, draws = build(model, number, 1, scripts, pure=True)
        run.begin(line)
        run_to(line, draws, 0.5 * model.end, pure=True)
        if again:
            kept = moment.keep(line)
            run_to(line, draws, model.end * chance.random(), pure=True)
            moment.set_back(kept)
        run_to(line, draws, model.end, pure=True)
        made.append(line)
    assert difference(*made) is None


@relaxed(40)
@cases
def test_runs_of_one_line_are_those_of_lines_built_one_by_one(text: str, number: int) -> None:
    plant, _ = odd_case(text, Random(number))
    for place in (3, 0, 3, 8):
        log = place == 0
        shared = simulate(plant, seed=number, run=place, activity=log, then=(0, 3)).totals
        alone = simulate(plant, seed=number, run=place, activity=log, scripts=Scripts()).totals
        assert fingerprint(shared) == fingerprint(alone)


def test_a_line_whose_run_broke_off_is_not_used_again() -> None:
    plant = loads(in_a_row([{"time": exponential("1 h")}] * 2, (2,), length="50 h"))
    model = model_of(plant)
    with pytest.raises(KeyboardInterrupt), line_for(model, 1, 0, pure=True):
        raise KeyboardInterrupt
    assert model.idle == {True: []}
    with line_for(model, 1, 0, pure=True) as (first, _), line_for(model, 1, 0, pure=True) as (second, _):
        assert first is not second
    assert {id(ready.line) for ready in model.idle[True]} == {id(first), id(second)}


# Nothing may be forgotten by whoever adds a field


def written(files: list[Path]) -> set[str]:
    """Return the names of the fields that the functions of these files assign or change in place."""
    found = set[str]()
    for file in files:
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Assign | ast.AugAssign):
                targets = node.targets if isinstance(node, ast.Assign) else [node.target]
                flat = [one for own in targets for one in (own.elts if isinstance(own, ast.Tuple) else [own])]
                found |= {field_of(one) for one in flat}
            elif isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in IN_PLACE:
                found.add(field_of(node.func.value))
    return found - {""}


IN_PLACE = ("append", "extend", "insert", "pop", "clear", "remove")


def field_of(node: ast.expr) -> str:
    """Return the field of another object that an expression names, or an element of it."""
    own = node.value if isinstance(node, ast.Subscript) else node
    other = isinstance(own, ast.Attribute) and ast.unparse(own.value) != "self"
    return own.attr if isinstance(own, ast.Attribute) and other else ""


def test_every_field_that_a_rule_or_a_start_state_writes_is_set_back() -> None:
    fields = {name for own in vars(parts).values() if isinstance(own, type) for name in getattr(own, "__slots__", ())}
    copies = [RULES / "copies.py", RULES / "moment.py"]
    rules = [file for file in RULES.glob("*.py") if file not in (*copies, RULES / "state.py")]
    at_birth = {"heat", "parent", "constant"}  # of a coil or a stream that has just come to be
    assert (written([*rules, *STARTS]) & fields) - at_birth - written(copies) == set()


@pytest.mark.parametrize("once", [False, True])
def test_runs_leave_nothing_behind(once: bool) -> None:
    """Whether a line serves again or one run alone: after 30 more of them no more memory is in use than before."""
    plant = loads(by_hand.one({"kind": "step", "time": {"exponential": {"mean": "5 min"}}}, 4000))

    def runs(count: int) -> int:
        for number in range(count):
            simulate(plant, run=number % 5, once=once)
        gc.collect()
        return tracemalloc.get_traced_memory()[0]

    tracemalloc.start()
    try:
        runs(15)
        before = runs(5)
        assert runs(30) - before < 20_000
    finally:
        tracemalloc.stop()
