"""`passline serve`: open the pages."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from twin.cli.faults import UsersFault, faults_told


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
    compress: Annotated[bool, typer.Option("--compress", help="Compress what is sent, for slow networks.")] = False,
) -> None:
    """Serve the pages for a scenario, or for a folder of them, until Ctrl-C."""
    with faults_told():
        from dashboard.app import serve as serve_pages
        from dashboard.settings import SettingsError

        try:
            serve_pages(
                plants,
                host,
                port,
                names=tuple(name or ()),
                auth_file=auth_file,
                behind_proxy=behind_proxy,
                compress=compress,
            )
        except SettingsError as fault:
            raise UsersFault(str(fault)) from fault
