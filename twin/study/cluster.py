"""The same runs on many machines, through dask.distributed.

Start a scheduler and workers that have this version of passline installed, and give the scheduler's
address. Connections are as safe as dask is told to make them: its own settings for TLS apply. Put no
scheduler on a network that strangers reach, for it runs what it is sent.
"""

from __future__ import annotations

import hashlib
import platform
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import CancelledError, Future, InvalidStateError
from contextlib import contextmanager, suppress
from importlib import import_module
from importlib.metadata import version
from typing import Any, TypeVar

from twin.study.pool import cores
from twin.version import VERSION

Given = TypeVar("Given")
Made = TypeVar("Made")

CONNECT_S = 10.0
LOST_S = 10.0  # a scheduler that does not answer for so long is lost
LISTEN_S = 0.5

LOCAL = "local"
"""In place of an address: a scheduler and one worker process a core, here, as long as they are needed."""


class ClusterError(ValueError):
    """The cluster cannot be used as it is."""


class Cluster:
    """Makes runs on the workers of a cluster; a lost worker's runs are made again, a lost scheduler ends the study."""

    def __init__(self, client: Any, workers: int) -> None:  # noqa: ANN401  dask ships no types
        self.workers = workers
        self.ahead = 3 * workers
        self._client = client
        self._executor = client.get_executor(pure=False)  # pure=True, the default, would take two equal tasks for one
        self._lock = threading.Lock()
        self._out: set[Future[Any]] = set()
        self._closed = threading.Event()
        threading.Thread(target=self._watch, daemon=True).start()

    def submit(self, function: Callable[[Given], Made], task: Given) -> Future[Made]:
        """Hand a task to the scheduler, which gives it to another worker if one dies."""
        theirs = self._executor.submit(function, task)
        ours: Future[Made] = Future()
        with self._lock:
            self._out.add(ours)
        ours.add_done_callback(lambda done: self._let_go(done, theirs))
        theirs.add_done_callback(lambda done: _hand_on(done, ours, str(task)))
        return ours

    def mend(self) -> None:
        """Do nothing: the scheduler replaces lost workers itself."""

    def close(self) -> None:
        """Watch no more."""
        self._closed.set()

    def _let_go(self, ours: Future[Any], theirs: Future[Any]) -> None:
        """Forget a task that is done; one that is no longer wanted is taken back."""
        with self._lock:
            self._out.discard(ours)
        if ours.cancelled() and self._answers():
            theirs.cancel()

    def _answers(self) -> bool:
        return bool(self._client.status == "running")

    def _watch(self) -> None:
        """Give up what is out when the scheduler has not answered for a while: it will not come back."""
        silent = 0.0
        while not self._closed.wait(LISTEN_S):
            silent = 0.0 if self._answers() else silent + LISTEN_S
            if silent >= LOST_S:
                with self._lock:
                    lost = list(self._out)
                for ours in lost:
                    _fail(
                        ours, ClusterError(f"the scheduler has not answered for {LOST_S:g} s: start it and try again")
                    )


def _hand_on(theirs: Future[Any], ours: Future[Any], task: str) -> None:
    """Give what a worker made, or what went wrong there, to who waits for it."""
    try:
        made = theirs.result()
    except CancelledError:
        _fail(ours, ClusterError("the scheduler has forgotten the study: start it and try again"))
    except Exception as fault:
        if type(fault).__name__ == "KilledWorker":
            fault = ClusterError(f"the workers died over {task}: perhaps memory ran out; give each of them more")
        _fail(ours, fault)
    else:
        with suppress(InvalidStateError):
            ours.set_result(made)


def _fail(ours: Future[Any], fault: Exception) -> None:
    with suppress(InvalidStateError):
        ours.set_exception(fault)


@contextmanager
def connect(address: str) -> Iterator[Cluster]:
    """Give a door to the workers of the scheduler at `address`, for instance `tcp://10.0.0.5:8786`, or `local`.

    Raises
    ------
    ClusterError : no answer, no worker, or workers with other versions, whose numbers might differ.
    """
    try:
        distributed: Any = import_module("distributed")
    except ImportError as error:
        raise ClusterError("a cluster needs dask.distributed: install passline with its extra `cluster`") from error
    if address == LOCAL:
        with _here(distributed) as local, connect(local) as door:
            yield door
        return
    try:
        client = distributed.Client(address, timeout=CONNECT_S, set_as_default=False)
    except (OSError, ValueError) as error:
        raise ClusterError(f"no scheduler answers at {address} within {CONNECT_S:g} s: {error}") from error
    with client:
        threads = client.nthreads()
        if not threads:
            raise ClusterError(f"the scheduler at {address} has no workers: start one with the same environment")
        check_versions(client.run(versions))
        door = Cluster(client, sum(threads.values()))
        try:
            yield door
        finally:
            door.close()


@contextmanager
def _here(distributed: Any) -> Iterator[str]:  # noqa: ANN401  dask ships no types
    """Give the address of a scheduler on this machine with a worker process for each core, and end them after use."""
    with distributed.LocalCluster(
        n_workers=cores(), threads_per_worker=1, host="127.0.0.1", protocol="tcp", dashboard_address="127.0.0.1:0"
    ) as local:
        yield local.scheduler_address


def versions() -> dict[str, str]:
    """Return the versions on which the bytes of a result depend, with the digest of the rules and of some draws."""
    from twin.line.compile_rules import rules_digest

    return {
        "passline": VERSION,
        "rules": rules_digest(),
        "numpy": version("numpy"),
        "scipy": version("scipy"),
        "python": ".".join(platform.python_version_tuple()[:2]),
        "arithmetic": arithmetic(),
    }


def arithmetic() -> str:
    """Return a digest of some numbers of each law: processors of another kind may round logarithms otherwise."""
    from twin.line.streams import scale, uniforms
    from twin.scenario.laws import Exponential, Lognormal, Normal, Triangular, Weibull

    unit = uniforms(1, 0, ["arithmetic"], 0, 4096)[0]
    laws = (
        Exponential(1.0, "time"),
        Lognormal(1.0, 0.8, "time"),
        Normal(1.0, 0.2, "time"),
        Triangular(1.0, 2.0, 4.0, "time"),
        Weibull(2.4, 1.0, "time"),
    )
    return hashlib.sha256(b"".join(scale(law, unit).tobytes() for law in laws)).hexdigest()[:16]


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
