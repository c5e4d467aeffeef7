"""`passline serve`: open the pages."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer

from twin.cli.faults import UsersFault, faults_told, say
from twin.cli.inputs import Inputs

FORECASTS = "How the forecasts of --logs take the inputs: at their best estimates, or as uncertain as they are."


def serve(
    plants: Annotated[
        Path | None, typer.Argument(metavar="FILE|FOLDER", help="A scenario, or a folder of them.")
    ] = None,
    host: Annotated[
        str, typer.Option(help="Address to listen at; anything but this machine needs a guard.")
    ] = "127.0.0.1",
    port: Annotated[int, typer.Option(help="Port to listen at.")] = 8050,
    name: Annotated[list[str] | None, typer.Option(help="Host name it is reached by; may be given again.")] = None,
    auth_file: Annotated[Path | None, typer.Option(help="File of users and their passwords.")] = None,
    behind_proxy: Annotated[bool, typer.Option("--behind-proxy", help="A proxy in front lets people in.")] = False,
    logs: Annotated[
        Path | None,
        typer.Option(metavar="FOLDER", help="A log of the plant, or a folder of logs, watched for new days."),
    ] = None,
    compress: Annotated[bool, typer.Option("--compress", help="Compress what is sent, for slow networks.")] = False,
    inputs: Annotated[Inputs, typer.Option(help=FORECASTS)] = Inputs.BEST,
) -> None:
    """Serve the pages for a scenario, or for a folder of them, until Ctrl-C."""
    with faults_told():
        watched_plants = [] if logs is None else plants_to_watch(plants, logs)
        from dashboard.app import serve as serve_pages
        from dashboard.settings import SettingsError

        try:
            with watched(watched_plants, logs, inputs):
                serve_pages(
                    plants,
                    host,
                    port,
                    names=tuple(name or ()),
                    auth_file=auth_file,
                    behind_proxy=behind_proxy,
                    compress=compress,
                    logs=logs,
                )
        except SettingsError as fault:
            raise UsersFault(str(fault)) from fault


@contextmanager
def watched(plants: list[Path], logs: Path | None, inputs: Inputs) -> Iterator[None]:
    """Watch a folder for new logs as long as the pages are served, and say what each brought."""
    if logs is None:
        yield
        return
    from twin.study.watchdays import How
    from twin.study.watchfolder import Watcher

    how = How(uncertain=inputs is Inputs.UNCERTAIN)
    watcher = Watcher(logs, plants, tell=lambda note: say(f"log {note.log}: {note.words}"), how=how)
    watcher.start()
    try:
        yield
    finally:
        watcher.stop()


def plants_to_watch(plants: Path | None, logs: Path) -> list[Path]:
    """Return the files of the plants whose logs are watched.

    Raises
    ------
    UsersFault : There is no such folder, or no plant to which its logs could belong.
    """
    if not logs.exists():
        raise UsersFault(f"{logs} is not there: name a folder in which the plant puts its logs")
    if plants is None:
        raise UsersFault("logs belong to a plant: name its scenario file too, passline serve FILE --logs FOLDER")
    if plants.is_dir():
        return sorted(file for file in plants.iterdir() if file.suffix in (".yaml", ".yml"))
    return [plants]
