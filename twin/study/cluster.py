"""The same runs on many machines, through dask.distributed.

Start a scheduler and workers that have this version of passline installed, and give the scheduler's
address. Connections are as safe as dask is told to make them: its own settings for TLS apply. Put no
scheduler on a network that strangers reach, for it runs what it is sent.
"""

from __future__ import annotations

import platform
from collections.abc import Callable, Iterator
from concurrent.futures import Future
from contextlib import contextmanager
from importlib import import_module
from importlib.metadata import version
from typing import Any, TypeVar

from twin.version import VERSION

Given = TypeVar("Given")
Made = TypeVar("Made")

CONNECT_S = 10.0


class ClusterError(ValueError):
    """The cluster cannot be used as it is."""


class Cluster:
    """Makes runs on the workers of a cluster."""

    def __init__(self, executor: Any, workers: int) -> None:  # noqa: ANN401  dask ships no types
        self._executor = executor
        self.workers = workers
        self.ahead = 3 * workers

    def submit(self, function: Callable[[Given], Made], task: Given) -> Future[Made]:
        """Hand a task to the scheduler, which gives it to another worker if one dies."""
        future: Future[Made] = self._executor.submit(function, task)
        return future

    def mend(self) -> None:
        """Do nothing: the scheduler replaces lost workers itself."""


@contextmanager
def connect(address: str) -> Iterator[Cluster]:
    """Give a door to the workers of the scheduler at `address`, for instance `tcp://10.0.0.5:8786`.

    Raises
    ------
    ClusterError : no answer, no worker, or workers with other versions, whose numbers might differ.
    """
    try:
        distributed: Any = import_module("distributed")
    except ImportError as error:
        raise ClusterError("a cluster needs dask.distributed: install passline with its extra `cluster`") from error
    try:
        client = distributed.Client(address, timeout=CONNECT_S, set_as_default=False)
    except (OSError, ValueError) as error:
        raise ClusterError(f"no scheduler answers at {address} within {CONNECT_S:g} s: {error}") from error
    with client:
        threads = client.nthreads()
        if not threads:
            raise ClusterError(f"the scheduler at {address} has no workers: start one with the same environment")
        check_versions(client.run(versions))
        # pure=True, the default, would take two equal tasks for one
        yield Cluster(client.get_executor(pure=False), sum(threads.values()))


def versions() -> dict[str, str]:
    """Return the versions on which the bytes of a result depend, with the digest of the rules."""
    from twin.line.compile_rules import rules_digest

    return {
        "passline": VERSION,
        "rules": rules_digest(),
        "numpy": version("numpy"),
        "python": ".".join(platform.python_version_tuple()[:2]),
    }


def check_versions(found: dict[str, dict[str, str]]) -> None:
    """Refuse workers whose versions are not ours, naming each."""
    ours = versions()
    wrong = [
        f"{worker} has {name} {theirs.get(name, 'missing')}, here it is {ours[name]}"
        for worker, theirs in sorted(found.items())
        for name in ours
        if theirs.get(name) != ours[name]
    ]
    if wrong:
        raise ClusterError("workers with other versions may give other numbers: " + "; ".join(wrong))
