"""The same runs on the workers of a cluster."""

from collections.abc import Iterator

import pytest
from study_texts import TANDEM

from twin.scenario import loads
from twin.study import cluster
from twin.study.replicate import replicate

distributed = pytest.importorskip("distributed")


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    """Return the address of a scheduler with two workers in this process."""
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=False, dashboard_address=None, host="127.0.0.1", protocol="tcp"
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
