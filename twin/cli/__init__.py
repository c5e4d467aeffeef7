"""The command `passline`: it reads a scenario, asks the model and writes the answer."""

from __future__ import annotations

import typer

from twin.cli.bench import bench
from twin.cli.check import check
from twin.cli.compare import compare
from twin.cli.fit import fit
from twin.cli.review import review
from twin.cli.rolls import rolls
from twin.cli.run import run
from twin.cli.serve import serve
from twin.version import VERSION

__all__ = ["app", "main"]

app = typer.Typer(
    name="passline",
    help="A digital twin of a metal strip line: melt, cast, roll, slit, cut and profile.",
    epilog="A plan, not a permit: local rules, the machine maker's manual and your own people decide.",
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)
app.command()(check)
app.command()(run)
app.command()(compare)
app.command()(review)
app.command()(fit)
app.command()(rolls)
app.command()(serve)
app.command()(bench)


def _show_version(asked: bool) -> None:
    if asked:
        typer.echo(f"passline {VERSION}")
        raise typer.Exit


@app.callback()
def about(
    version: bool = typer.Option(
        False, "--version", callback=_show_version, is_eager=True, help="Show the version and end."
    ),
) -> None:
    """Take options that stand before the command."""


def main() -> None:
    """Run the command; end with 0 when done, 2 when the input is at fault, 1 when passline is."""
    app(prog_name="passline")
