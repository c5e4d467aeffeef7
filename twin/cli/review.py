"""`passline review`: what happened yesterday?"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from twin.cli.faults import STOPPED, UsersFault, faults_told, say
from twin.cli.files import refuse_unwritable, write_json
from twin.cli.inputs import HELP, Inputs, varied
from twin.cli.logs import log_at
from twin.cli.ticker import Ticker

if TYPE_CHECKING:
    from twin.logs import Log, Mapping
    from twin.scenario import Scenario
    from twin.study.inputs import Inputs as Known
    from twin.study.review_answer import Review
    from twin.study.review_first import ReviewStep
    from twin.study.uncertain import Uncertain

A_DAY_A_PLANT = 1
"""Runs of the day that share a plant with uncertain inputs: what is asked is how days scatter, luck and all."""
BEST = "Inputs at their best estimates."


def review(
    file: Annotated[Path, typer.Argument(help="The scenario, a YAML file.")],
    log: Annotated[Path, typer.Option(help="The plant's log: a folder of CSV or Parquet files, or one workbook.")],
    day: Annotated[
        str | None,
        typer.Option(metavar="DATE", help="Date on which the production day begins; left out: the last of the log."),
    ] = None,
    runs: Annotated[int, typer.Option(min=2, help="Runs of the day.")] = 100,
    seed: Annotated[int, typer.Option(min=0, help="Seed of all random numbers.")] = 2026,
    quick: Annotated[
        bool, typer.Option("--quick", help="Leave out how sure it is which cause was the largest.")
    ] = False,
    json: Annotated[
        str | None, typer.Option("--json", metavar="OUT", help="Write the results as JSON; - prints them alone.")
    ] = None,
    inputs: Annotated[Inputs, typer.Option(help=HELP)] = Inputs.BEST,
) -> None:
    """Explain a day of a plant's log: was it an ordinary one, what moved it by how much, what cannot be explained."""
    with faults_told():
        from twin.scenario import load

        scenario = load(file)
        refuse_unwritable(json)
        vary, known = varied(scenario, inputs, A_DAY_A_PLANT)
        found = _found(scenario, log, day, _How(runs, seed, vary, not quick))
        _show(found, json, known)


@dataclass(frozen=True, slots=True)
class _How:
    """How the day is run."""

    runs: int
    seed: int
    vary: Uncertain | None
    sure: bool


def _found(scenario: Scenario, log: Path, day: str | None, how: _How) -> Review:
    """Read the log and review the day, telling how far it is."""
    from twin.logs import LogError
    from twin.study.review import review as study

    ticker = Ticker()
    try:
        records, mapping = log_at(log, scenario)
        begins = _begins(mapping)
        when = _day(day, scenario, records, begins)
        return study(
            scenario,
            records,
            when,
            runs=how.runs,
            seed=how.seed,
            begins=begins,
            mapping=mapping,
            vary=how.vary,
            progress=lambda step: ticker.tell(_said(step)),
            sure=how.sure,
        )
    except LogError as fault:
        raise UsersFault(str(fault)) from fault
    except KeyboardInterrupt as stop:
        say("Stopped before the day was explained: nothing to show.")
        raise typer.Exit(STOPPED) from stop
    finally:
        ticker.done()


def _begins(mapping: Mapping | None) -> time | None:
    """Return when the plant's production day begins, where it says so."""
    if mapping is None or mapping.production_day_s <= 0.0:
        return None
    minutes = round(mapping.production_day_s / 60.0)
    return time(minutes // 60, minutes % 60)


def _day(day: str | None, scenario: Scenario, log: Log, begins: time | None) -> date:
    """Return the day asked for, or the last one of the log."""
    from twin.study.review_day import last_day

    if day is not None:
        try:
            return date.fromisoformat(day)
        except ValueError as fault:
            raise UsersFault(f"--day '{day}' is no date. Write it like 2026-03-02") from fault
    known = last_day(scenario, log, begins)
    if known is None:
        raise UsersFault(f"{log.place}: the log covers no whole production day. Give a longer one")
    return known


def _said(step: ReviewStep) -> str:
    return f"{step.what}: {step.done} of {step.wanted}" if step.wanted else f"{step.what}: {step.done}"


def _show(found: Review, json: str | None, known: Known | None) -> None:
    """Print the answer for people, write it for programs; each says how the numbers of the line were taken."""
    words = BEST if known is None else f"Inputs as uncertain as they are. {known.words}"
    if json != "-":
        from twin.cli.show_review import show_review

        show_review(found, words)
    if json is not None:
        from twin.study.review_plain import review_json

        write_json(review_json(found) | {"inputs": _inputs(words, known)}, json)


def _inputs(words: str, known: Known | None) -> dict[str, Any]:
    """Return how the numbers of the line were taken, as plain values."""
    if known is None:
        return {"mode": Inputs.BEST.value, "words": words}
    measured = {"measured": known.measured, "numbers": len(known.numbers)}
    return {"mode": Inputs.UNCERTAIN.value, "words": words, **measured}
