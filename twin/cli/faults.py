"""What the command says when it cannot do as told, and how it ends: 2 for the user's fault, 1 for ours."""

from __future__ import annotations

import sys
import traceback
from collections.abc import Iterator
from contextlib import contextmanager

import typer

from twin.version import VERSION

USERS_FAULT = 2
OUR_FAULT = 1
STOPPED = 130


class UsersFault(Exception):
    """Something the user can put right; its text says how."""


def say(text: str) -> None:
    """Write a line where it does not mix with results."""
    sys.stderr.write(text + "\n")
    sys.stderr.flush()


@contextmanager
def faults_told() -> Iterator[None]:
    """Turn faults into one plain message and the right way to end."""
    from twin.scenario import ScenarioError

    try:
        yield
    except (typer.Exit, typer.Abort, KeyboardInterrupt):
        raise
    except (UsersFault, ScenarioError) as fault:
        say(str(fault))
        raise typer.Exit(USERS_FAULT) from fault
    except Exception as fault:
        traceback.print_exc()
        say(
            f"This is a fault of passline {VERSION}, not of your input: {type(fault).__name__}: {fault}. "
            "Please report it with the lines above and, if you may, the scenario."
        )
        raise typer.Exit(OUR_FAULT) from fault
