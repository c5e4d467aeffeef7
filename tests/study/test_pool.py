"""Workers that die, are interrupted or lose their parent; results in order all the same."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pool_work
import psutil
import pytest

from twin.study.pool import Here, Pool
from twin.study.stream import Stream, WorkerLostError


@pytest.fixture
def pool() -> Iterator[Pool]:
    """Two warm processes."""
    made = Pool(2)
    yield made
    made.close()


def test_results_come_in_the_order_of_the_tasks(pool: Pool) -> None:
    found = [made for _, made in Stream(pool_work.slow, pool).results(iter(range(8)))]

    assert found == list(range(8))


def test_work_here_needs_no_process() -> None:
    here = [made for _, made in Stream(pool_work.process_id, Here()).results(iter([1, 2]))]

    assert here == [os.getpid()] * 2


def test_the_processes_stay_warm_between_studies(pool: Pool) -> None:
    first = {made for _, made in Stream(pool_work.process_id, pool).results(iter(range(20)))}
    second = {made for _, made in Stream(pool_work.process_id, pool).results(iter(range(20)))}

    assert os.getpid() not in first
    assert len(first | second) <= 2


def test_what_a_killed_worker_held_is_done_again(pool: Pool, tmp_path: Path) -> None:
    mark = str(tmp_path / "died")
    tasks = ((number, mark) for number in range(12))
    found = [made for _, made in Stream(pool_work.die_once, pool).results(tasks)]

    assert Path(mark).exists()
    assert found == list(range(12))


def test_a_task_that_kills_every_worker_is_given_up_with_a_reason(pool: Pool) -> None:
    with pytest.raises(WorkerLostError, match="died 3 times over 7: perhaps memory ran out"):
        list(Stream(pool_work.die, pool).results(iter([7])))


def test_the_pool_works_again_after_a_death(pool: Pool) -> None:
    with pytest.raises(WorkerLostError):
        list(Stream(pool_work.die, pool).results(iter([7])))

    assert [made for _, made in Stream(pool_work.double, pool).results(iter([4]))] == [8]


def test_ctrl_c_in_the_terminal_does_not_reach_the_workers(pool: Pool) -> None:
    found = [made for _, made in Stream(pool_work.interrupt_self, pool).results(iter(range(4)))]

    assert found == list(range(4))


def test_a_stop_ends_the_stream_before_the_next_result(pool: Pool) -> None:
    taken: list[int] = []
    for _, made in Stream(pool_work.double, pool, lambda: len(taken) >= 3).results(iter(range(1000))):
        taken.append(made)

    assert taken == [0, 2, 4]


def test_tasks_are_taken_only_a_little_ahead(pool: Pool) -> None:
    """Memory stays flat: the tasks of a study of any length are never all made at once."""
    handed = iter(range(10**9))
    stream = Stream(pool_work.double, pool).results(handed)
    next(stream)
    stream.close()

    assert next(handed) <= pool.ahead


def test_a_fault_of_the_task_is_raised_as_it_is(pool: Pool) -> None:
    with pytest.raises(TypeError):
        list(Stream(pool_work.double, pool).results(iter([None])))  # type: ignore[list-item]


PARENT = """
import sys
sys.path.insert(0, {tests!r})
import pool_work
from twin.study.pool import Pool
from twin.study.stream import Stream
if __name__ == "__main__":
    pool = Pool(2)  # held, lest its processes end with it
    found = {{made for _, made in Stream(pool_work.process_id, pool).results(iter(range(20)))}}
    sys.stdout.write(" ".join(map(str, found)) + chr(10))
    sys.stdout.flush()
    sys.stdin.read()
"""


def test_no_worker_outlives_a_parent_that_was_killed(tmp_path: Path, root: Path) -> None:
    script = tmp_path / "parent.py"
    script.write_text(PARENT.format(tests=str(root / "tests")), encoding="utf-8")
    parent = subprocess.Popen(
        [sys.executable, str(script)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,  # semaphores of the killed parent are swept up, with a warning
        text=True,
        cwd=root,
    )
    assert parent.stdout is not None
    assert parent.stdin is not None
    workers = [int(text) for text in parent.stdout.readline().split()]
    assert workers
    assert all(psutil.pid_exists(worker) for worker in workers)

    parent.send_signal(signal.SIGKILL)
    parent.wait()
    parent.stdout.close()
    parent.stdin.close()

    deadline = time.monotonic() + 10.0
    while any(_alive(worker) for worker in workers) and time.monotonic() < deadline:
        time.sleep(0.05)
    assert not any(_alive(worker) for worker in workers)


def _alive(worker: int) -> bool:
    """Return whether a process runs; one that only waits to be buried does not."""
    try:
        return bool(psutil.Process(worker).status() != psutil.STATUS_ZOMBIE)
    except psutil.NoSuchProcess:
        return False
