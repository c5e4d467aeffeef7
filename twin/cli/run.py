"""`passline run`: what does the line make, and what holds it back?"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from twin.cli.faults import STOPPED, UsersFault, faults_told, say
from twin.cli.files import refuse_unwritable, told_if_unwritable, write_json, write_tables
from twin.cli.inputs import HELP, LEAST_RUNS, Inputs, doubt, varied
from twin.cli.telling import Teller

if TYPE_CHECKING:
    from twin.scenario import Scenario
    from twin.study.pool import Door
    from twin.study.replications import Replications


WEEK_H = 168.0


class Clock(StrEnum):
    """What drives the rules of the line; the numbers are the same."""

    SIMPY = "simpy"
    COMPILED = "compiled"
    PURE = "pure"


def a_share(text: str) -> float:
    """Read a share, as `0.5 %` or `0.005`."""
    plain = text.strip()
    try:
        value = float(plain.removesuffix("%")) / (100.0 if plain.endswith("%") else 1.0)
    except ValueError:
        value = 0.0
    if not 0.0 < value < 1.0:
        raise typer.BadParameter(f"'{text}' is no share between 0 and 1: write '1 %' or 0.01")
    return value


def run(
    file: Annotated[Path, typer.Argument(help="The scenario, a YAML file.")],
    sets: Annotated[
        list[str] | None,
        typer.Option("--set", metavar="PATH=VALUE", help="Change one value of the scenario; may be given again."),
    ] = None,
    option: Annotated[
        list[str] | None,
        typer.Option(metavar="NAME", help="Take an option of the scenario, or a sum 'A + B'; may be given again."),
    ] = None,
    runs: Annotated[
        int | None,
        typer.Option(min=1, help="How many runs: 20; 60 with uncertain inputs; with --precision at most 10 000."),
    ] = None,
    precision: Annotated[
        float | None,
        typer.Option(
            parser=a_share, metavar="SHARE", help="Run until the half-width is this share of good t/week, as '1 %'."
        ),
    ] = None,
    seconds: Annotated[float | None, typer.Option(min=0.001, help="Stop after this time with what there is.")] = None,
    seed: Annotated[int, typer.Option(min=0, help="Seed of all random numbers.")] = 2026,
    workers: Annotated[
        int | None, typer.Option(min=1, help="Processes; left out: one a core where it pays. Same numbers.")
    ] = None,
    clock: Annotated[Clock | None, typer.Option(help="What drives the rules; same numbers.")] = None,
    json: Annotated[
        str | None, typer.Option("--json", metavar="OUT", help="Write the results as JSON; - prints them alone.")
    ] = None,
    trace: Annotated[
        Path | None, typer.Option(metavar="DIR", help="Write all that happens in the first run as CSV files.")
    ] = None,
    cluster: Annotated[
        str | None, typer.Option(metavar="ADDRESS", help="Make the runs on the workers of a dask scheduler.")
    ] = None,
    inputs: Annotated[Inputs, typer.Option(help=HELP)] = Inputs.BEST,
) -> None:
    """Simulate the line and say what it makes and what holds it back.

    Ctrl-C stops and keeps the runs made so far.
    """
    with faults_told():
        how: dict[str, Any] = {"seed": seed, "workers": workers, "seconds": seconds, "precision": precision}
        how["clock"] = None if clock is None else clock.value
        if runs is not None:
            how["runs"] = runs
        scenario = changed(file, option or [], sets or [])
        refuse_unwritable(json, folder=trace)
        vary, known = varied(scenario, inputs)
        if vary is not None:
            how = {**how, "vary": vary} if precision is not None else {"runs": LEAST_RUNS, **how, "vary": vary}
        made = _made(scenario, how, cluster)
        results = _results(made)
        if vary is not None and known is not None:
            results["inputs"] = doubt(WEEK_H * made.column("line", "good"), vary, known, seed, "t/week")
        _show(made, results, json)
        if trace is not None:
            _write_trace(scenario, trace, seed, how["clock"])


def changed(file: Path, options: list[str], sets: list[str]) -> Scenario:
    """Return the scenario of a file with options, then single values, put in."""
    from twin.scenario import apply_options, apply_set, load

    scenario = load(file)
    names = [name.strip() for one in options for name in one.split(" + ")]
    if names:
        scenario = apply_options(scenario, names)
    for one in sets:
        path, equals, value = one.partition("=")
        if not equals or not path.strip():
            raise UsersFault(f"--set '{one}' has no value: write it as stations.slitter.machines=2")
        scenario = apply_set(scenario, path.strip(), value.strip())
    return scenario


def _made(scenario: Scenario, how: dict[str, Any], cluster: str | None) -> Replications:
    """Make the runs, and tell how far it is; a stop keeps what there is."""
    from twin.study.replicate import replicate

    teller = Teller()
    try:
        with _door(cluster) as door:
            made = replicate(scenario, progress=teller.tell, door=door, **how)
    except KeyboardInterrupt as stop:
        say("Stopped before the first run was done: nothing to show.")
        raise typer.Exit(STOPPED) from stop
    finally:
        teller.done()
    if made.stopped in ("asked", "time"):
        say(f"Stopped after {made.runs} of {made.wanted} runs: the numbers are of those.")
    if made.stopped == "runs" and how["precision"] is not None:
        say(f"{made.runs} runs did not reach the precision asked for: allow more with --runs.")
    return made


def _results(made: Replications) -> dict[str, Any]:
    """Return the results, and what becomes of the orders where there are some."""
    results = made.summary()
    if made.scenario.orders:
        from twin.study.promises import order_book

        results["orders"] = order_book(made)
    return results


@contextmanager
def _door(cluster: str | None) -> Iterator[Door | None]:
    """Give the way to a cluster, or nothing for this machine."""
    if cluster is None:
        yield None
        return
    from twin.study.cluster import ClusterError, connect

    try:
        with connect(cluster) as door:
            yield door
    except ClusterError as fault:
        raise UsersFault(str(fault)) from fault


def _show(made: Replications, results: dict[str, Any], json: str | None) -> None:
    """Print the answer for people, or as JSON."""
    if json != "-":
        from twin.cli.show import show_run
        from twin.study.assumed import assumed, finished_stores

        show_run(results, assumed(made.scenario), finished_stores(made.scenario))
    if json is not None:
        write_json(results, json)


def _write_trace(scenario: Scenario, folder: Path, seed: int, clock: Any) -> None:  # noqa: ANN401
    """Write the trace of the first run."""
    from twin.line import simulate

    with told_if_unwritable(folder):
        folder.mkdir(parents=True, exist_ok=True)
    trace = simulate(scenario, seed=seed, run=0, trace=True, clock=clock).trace
    if trace is not None:
        write_tables(trace.tables, str(folder))
        say(f"{folder}: {len(trace.tables)} tables of the first run.")
