"""The same runs on the workers of a cluster."""

import os
import signal
from collections.abc import Iterator
from concurrent.futures import CancelledError, Future
from typing import Any

import pool_work
import pytest
from study_texts import TANDEM

from twin.scenario import loads
from twin.study import cluster
from twin.study.replicate import Progress, replicate

distributed = pytest.importorskip("distributed")


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    """Return the address of a scheduler with two workers in this process."""
    with distributed.LocalCluster(
        n_workers=2,
        threads_per_worker=1,
        processes=False,
        dashboard_address="127.0.0.1:0",
        host="127.0.0.1",
        protocol="tcp",
    ) as local:
        yield local.scheduler_address


def test_a_cluster_gives_the_same_bytes(address: str) -> None:
    line = loads(TANDEM)
    with cluster.connect(address) as door:
        made = replicate(line, runs=9, door=door)

    assert door.workers == 2
    assert made.digest == replicate(line, runs=9, workers=1).digest


def test_equal_tasks_are_not_taken_for_one(address: str) -> None:
    """Measured trap: an executor made without pure=False works two equal calls out once."""
    with cluster.connect(address) as door:
        drawn = {door.submit(a_new_object, 1).result() for _ in range(8)}

    assert len(drawn) == 8


def test_one_two_eight_processes_and_a_cluster_of_processes_give_the_same_bytes_even_if_one_is_killed() -> None:
    line = loads(TANDEM)
    alone = replicate(line, runs=60, workers=1)
    killed: list[int] = []
    with cluster.connect(cluster.LOCAL) as door:
        whole = replicate(line, runs=60, door=door)

        def kill(_: Progress) -> None:
            if not killed:
                killed.append(door.submit(pool_work.process_id, 0).result())
                os.kill(killed[0], signal.SIGKILL)

        broken = replicate(line, runs=60, door=door, progress=kill)

    assert killed
    assert killed[0] != os.getpid()
    assert {alone.digest} == {made.digest for made in (whole, broken)}
    assert {alone.digest} == {replicate(line, runs=60, workers=count).digest for count in (2, 8)}


class Lost:
    """A client whose scheduler is gone."""

    status = "connecting"

    def get_executor(self, pure: bool) -> "Lost":
        """Return what takes tasks."""
        assert not pure
        return self

    def submit(self, *_: object) -> Future[Any]:
        """Take a task that is never done."""
        return Future()


def test_a_lost_scheduler_ends_the_study_with_a_reason(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cluster, "LISTEN_S", 0.01)
    monkeypatch.setattr(cluster, "LOST_S", 0.05)
    door = cluster.Cluster(Lost(), 2)

    with pytest.raises(cluster.ClusterError, match="has not answered for"):
        replicate(loads(TANDEM), runs=9, door=door)
    door.close()


def test_a_scheduler_that_began_anew_is_told_from_a_stop() -> None:
    theirs: Future[int] = Future()
    ours: Future[int] = Future()
    theirs.set_exception(CancelledError())
    cluster._hand_on(theirs, ours, "runs 1 to 3")

    with pytest.raises(cluster.ClusterError, match="has forgotten the study"):
        ours.result()


def test_a_task_that_kills_every_worker_is_named() -> None:
    theirs: Future[int] = Future()
    ours: Future[int] = Future()
    theirs.set_exception(type("KilledWorker", (Exception,), {})())
    cluster._hand_on(theirs, ours, "runs 1 to 3")

    with pytest.raises(cluster.ClusterError, match="the workers died over runs 1 to 3: perhaps memory ran out"):
        ours.result()


def a_new_object(_: int) -> float:
    """Return another number at each call."""
    import random

    return random.random()


def test_workers_with_other_versions_are_refused_by_name() -> None:
    theirs = cluster.versions() | {"rules": "0000"}

    with pytest.raises(cluster.ClusterError, match=r"tcp://10\.0\.0\.9:1 has rules 0000, here it is"):
        cluster.check_versions({"tcp://10.0.0.9:1": theirs})
    cluster.check_versions({"tcp://10.0.0.9:1": cluster.versions()})


def test_an_address_where_nobody_answers_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cluster, "CONNECT_S", 0.3)

    with pytest.raises(cluster.ClusterError, match="no scheduler answers at tcp://127.0.0.1:9 within 0.3 s"):
        cluster.connect("tcp://127.0.0.1:9").__enter__()
