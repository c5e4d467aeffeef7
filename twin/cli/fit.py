"""`passline fit`: what does the plant's own log say of the numbers?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from twin.cli.faults import STOPPED, UsersFault, faults_told, say
from twin.cli.files import refuse_unwritable, told_if_unwritable, write_json
from twin.cli.logs import log_at
from twin.cli.ticker import Ticker

if TYPE_CHECKING:
    from twin.scenario import Scenario
    from twin.study.fitresult import Fitted


def fit(
    file: Annotated[Path, typer.Argument(help="The scenario, a YAML file.")],
    log: Annotated[Path, typer.Option(help="The plant's log: a folder of CSV or Parquet files, or one workbook.")],
    write: Annotated[
        Path | None,
        typer.Option(metavar="NEW.yaml", help="Write a new scenario with the numbers that the log tells."),
    ] = None,
    json: Annotated[
        str | None, typer.Option("--json", metavar="OUT", help="Write the results as JSON; - prints them alone.")
    ] = None,
) -> None:
    """Fit the numbers of a line to its log: laws with their doubt, beside what was assumed, and what looks odd.

    The scenario itself is never changed. A log that cannot be trusted is refused, with lines and ways out.
    """
    with faults_told():
        from twin.scenario import load

        if write is not None:
            _free(write)
        scenario = load(file)
        refuse_unwritable(json, write)
        found = _found(scenario, log)
        if json != "-":
            from twin.cli.show_fit import show_fit

            show_fit(found, scenario)
        if json is not None:
            write_json({**found.plain(), "scenario": scenario.name}, json)
        if write is not None:
            _write(found, file, write)


def _free(target: Path) -> None:
    """Refuse a name that is taken, before any work is done."""
    from twin.study.inputs import inputs_file

    for one in (target, inputs_file(target)):
        if one.exists():
            raise UsersFault(f"{one}: is there already, and is not replaced. Give another name")


def _found(scenario: Scenario, place: Path) -> Fitted:
    """Read, doubt and fit the log, telling how far it is."""
    from twin.logs import LogError
    from twin.logs.doctor import examine
    from twin.study.fit import fit as study

    ticker = Ticker()
    try:
        log, mapping = log_at(place, scenario)
        examined = examine(log, scenario, mapping)
        return study(scenario, examined, progress=lambda done, of: ticker.tell(f"fitted {done} of {of} numbers"))
    except LogError as fault:
        raise UsersFault(str(fault)) from fault
    except KeyboardInterrupt as stop:
        say("Stopped before the log was fitted: nothing to show, nothing was written.")
        raise typer.Exit(STOPPED) from stop
    finally:
        ticker.done()


def _write(found: Fitted, file: Path, target: Path) -> None:
    """Write the new scenario, and the doubt of its numbers beside it."""
    from twin.study.fitwrite import accept
    from twin.study.inputs import inputs_file

    with told_if_unwritable(target):
        accept(found, file, target)
    say(f"{target}: the new scenario. {inputs_file(target).name} beside it keeps how far off each number may be.")
