"""`passline check`: is the scenario sound, and what does it say?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from twin.cli.faults import UsersFault, faults_told

if TYPE_CHECKING:
    from twin.scenario import Scenario


def check(
    file: Annotated[Path | None, typer.Argument(help="The scenario, a YAML file.")] = None,
    schema: Annotated[
        bool, typer.Option("--schema", help="Print the JSON Schema of scenario files, for editors, and end.")
    ] = False,
) -> None:
    """Check a scenario and report all its faults at once."""
    with faults_told():
        if schema:
            typer.echo(_schema())
            return
        if file is None:
            raise UsersFault("no scenario was named: give its file, or --schema")
        from twin.scenario import load

        typer.echo(_sound(load(file), file))


def _schema() -> str:
    """Return the JSON Schema of the grammar, as text."""
    import json

    from twin.scenario import json_schema

    return json.dumps(json_schema(), indent=2, ensure_ascii=False)


def _sound(scenario: Scenario, file: Path) -> str:
    """Say that nothing is wrong, and how much was read, so that a part left out shows."""
    parts = [
        _counted(len(found), word)
        for found, word in (
            (scenario.stations, "station"),
            (scenario.stores, "store"),
            (scenario.products, "product"),
            (scenario.patterns, "pattern"),
            (scenario.options, "option"),
        )
        if found
    ]
    return f"{file}: sound. {scenario.name}: {', '.join(parts)}; digest {scenario.digest[:8]}."


def _counted(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"
