"""`passline bench`: how fast is it on this machine?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from twin.cli.faults import UsersFault, faults_told, say
from twin.cli.files import refuse_unwritable, write_json
from twin.words import NO_BREAK, NOT_ASKED, places_alone, plain

if TYPE_CHECKING:
    from twin.study.bench import Row


def bench(
    file: Annotated[Path | None, typer.Argument(help="The scenario to measure with; left out: the demo plant.")] = None,
    json: Annotated[
        str | None, typer.Option("--json", metavar="OUT", help="Write the numbers as JSON; - prints them alone.")
    ] = None,
    quick: Annotated[bool, typer.Option("--quick", help="Measure less often: for a look, not for the record.")] = False,
) -> None:
    """Measure the model on this machine, against its goals and against other ways to write the same line."""
    with faults_told():
        from twin.study.bench import bench as measure
        from twin.study.bench import report

        refuse_unwritable(json)
        rows: list[Row] = []
        try:
            for row in measure(quick=quick, scenario=file):
                rows.append(row)
                tell = say if json == "-" else typer.echo
                tell(line(row))
        except FileNotFoundError as fault:
            raise UsersFault(str(fault)) from fault
        if json is not None:
            write_json(report(rows), json)


def line(row: Row) -> str:
    """Return one measured figure on one line: what, how much, the goal and whether it is met."""
    words = {True: "met", False: "not met", None: ""}
    goal = "" if row.goal.reach is None else f"goal {plain(row.goal.reach, places_alone(row.goal.reach))}"
    value = NOT_ASKED if row.value is None else plain(row.value, places_alone(row.value))
    told = [f"{value}{NO_BREAK}{row.unit}".rstrip(), goal, words[row.met], row.note]
    return f"{row.what}: " + ", ".join(part for part in told if part)
