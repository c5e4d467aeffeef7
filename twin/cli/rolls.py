"""`passline rolls`: when do the rolls come out?"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from twin.cli.faults import STOPPED, UsersFault, faults_told, say
from twin.cli.files import refuse_unwritable, told_if_unwritable, write_json, write_whole
from twin.cli.inputs import HELP, LEAST_RUNS, Inputs, varied
from twin.cli.run import changed
from twin.cli.ticker import Ticker

if TYPE_CHECKING:
    from twin.scenario import Scenario
    from twin.study.maker import Maker
    from twin.study.rollresult import Answer, Asked
    from twin.study.uncertain import Uncertain


def rolls(
    file: Annotated[Path, typer.Argument(help="The scenario, a YAML file.")],
    state: Annotated[
        Path | None,
        typer.Option("--from", metavar="STATE", help="The plant's state now: a YAML file with now, stores, rolls."),
    ] = None,
    days: Annotated[float, typer.Option(min=0.5, max=14.0, help="How far ahead changes are planned.")] = 3.0,
    station: Annotated[
        str | None, typer.Option(metavar="NAME", help="The mill; left out: the first that has rolls.")
    ] = None,
    keep: Annotated[
        Path | None,
        typer.Option(metavar="OLD.json", help="The plan of before: near changes stay, later ones move little."),
    ] = None,
    sets: Annotated[
        list[str] | None,
        typer.Option("--set", metavar="PATH=VALUE", help="Change one value of the scenario; may be given again."),
    ] = None,
    option: Annotated[
        list[str] | None,
        typer.Option(metavar="NAME", help="Take an option of the scenario, or a sum 'A + B'; may be given again."),
    ] = None,
    runs: Annotated[int, typer.Option(min=2, max=10_000, help="Runs at each distance and under each rule.")] = 20,
    futures: Annotated[int, typer.Option(min=2, max=10_000, help="Futures of the coming days.")] = 200,
    seed: Annotated[int, typer.Option(min=0, help="Seed of all random numbers.")] = 2026,
    workers: Annotated[
        int | None, typer.Option(min=1, help="Processes; left out: one a core where it pays. Same numbers.")
    ] = None,
    json: Annotated[
        str | None, typer.Option("--json", metavar="OUT", help="Write the results as JSON; - prints them alone.")
    ] = None,
    ics: Annotated[
        Path | None, typer.Option("--ics", metavar="OUT.ics", help="Write the windows as a calendar.")
    ] = None,
    inputs: Annotated[Inputs, typer.Option(help=HELP)] = Inputs.BEST,
) -> None:
    """Say when rolls are best changed, what another hour costs the whole line, and whether it matters.

    Ctrl-C stops and keeps what was found so far.
    """
    with faults_told():
        scenario = changed(file, option or [], sets or [])
        refuse_unwritable(json, ics)
        vary = varied(scenario, inputs)[0]
        runs = runs if vary is None else max(runs, LEAST_RUNS)
        with _state_told(state), _told() as ticker:
            scenario = _from_state(scenario, state)
            asked = _asked(scenario, station, days, runs, futures, seed, keep)
            found = _found(scenario, asked, _maker(seed, workers, vary, ticker))
        _show(found, json, ics)


def _from_state(scenario: Scenario, state: Path | None) -> Scenario:
    """Return the scenario that starts from a state in a file of its own."""
    from twin.study.rollstate import with_state

    return scenario if state is None else with_state(scenario, state)


@contextmanager
def _state_told(state: Path | None) -> Iterator[None]:
    """Tell of what the line cannot start from with its place in the file of the state."""
    from twin.scenario import ScenarioError
    from twin.study.rollstate import told_of_state

    try:
        yield
    except ScenarioError as error:
        if state is None or not state.is_file():
            raise
        raise told_of_state(error, state) from error


@contextmanager
def _told() -> Iterator[Ticker]:
    """Tell how far it is until it is done; what cannot be planned is the input's fault."""
    from twin.study.replicate import NothingMadeError
    from twin.study.rollnow import RollsError

    ticker = Ticker()
    try:
        yield ticker
    except RollsError as fault:
        raise UsersFault(str(fault)) from fault
    except (KeyboardInterrupt, NothingMadeError) as stop:
        say("Stopped before the coming changes were planned: nothing to show.")
        raise typer.Exit(STOPPED) from stop
    finally:
        ticker.done()


def _asked(
    scenario: Scenario, station: str | None, days: float, runs: int, futures: int, seed: int, keep: Path | None
) -> Asked:
    """Return what is asked, with the plan of before."""
    from twin.study.rollnow import chosen_mill, present
    from twin.study.rollresult import Asked
    from twin.study.rollstate import earlier_changes

    mill = chosen_mill(scenario, station)
    if keep is None:
        return Asked(mill=mill, days=days, runs=runs, futures=futures)
    now = present(scenario, mill, seed=seed, length=86400.0).at(0.0)
    return Asked(mill=mill, days=days, runs=runs, futures=futures, earlier=earlier_changes(_read(keep), now, mill))


def _read(file: Path) -> dict[str, object]:
    """Read earlier results."""
    import orjson

    try:
        found = orjson.loads(file.read_bytes())
    except OSError as error:
        raise UsersFault(f"{file}: cannot be read: {error.strerror or error}. Check its name") from error
    except orjson.JSONDecodeError as error:
        raise UsersFault(f"{file}: is no JSON: {error}. Give the file that --json wrote") from error
    if not isinstance(found, dict):
        raise UsersFault(f"{file}: holds no results. Give the file that --json wrote")
    return found


def _maker(seed: int, workers: int | None, vary: Uncertain | None, ticker: Ticker) -> Maker:
    """Return how the runs are made; where inputs are uncertain, each is a plant of its own."""
    from twin.study.maker import Maker

    return Maker(
        seed=seed,
        workers=workers,
        vary=None if vary is None else replace(vary, group=1),
        tell=lambda step: ticker.tell(f"{step.what}: {step.done} of {step.wanted}"),
    )


def _found(scenario: Scenario, asked: Asked, maker: Maker) -> Answer:
    """Make the answer."""
    from twin.study.rollanswer import answer

    return answer(scenario, asked, maker)


def _show(found: Answer, json: str | None, ics: Path | None) -> None:
    """Print the answer for people, write it for programs and for calendars."""
    if found.stopped:
        say("Stopped before the long run of the line was made: distances and rules may be missing.")
    if json != "-":
        from twin.cli.show_rolls import show_rolls

        show_rolls(found)
    if json is not None:
        from twin.study.rollplain import plain

        write_json(plain(found), json)
    if ics is not None:
        from twin.study.rollcalendar import calendar

        text = calendar(found)
        with told_if_unwritable(ics):
            write_whole(ics, lambda out: out.write(text))
        say(f"{ics}: {len(found.changes)} windows for a calendar.")
