"""A run in a process of its own never ends in silence, never outlives its use, and never loses what it told."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import psutil
import pytest

from dashboard import jobs as jobs_module
from dashboard.jobs import Jobs, View

COUNT = "job_targets:count"


@pytest.fixture
def jobs() -> Iterator[Jobs]:
    runner = Jobs(limit=1, stale_s=30.0)
    yield runner
    runner.close()


def wait_until(true: Callable[[], bool], seconds: float = 10.0) -> bool:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if true():
            return True
        time.sleep(0.02)
    return False


def wait_for_end(jobs: Jobs, key: str) -> View:
    view = jobs.look(key)
    while view.going:
        view = jobs.look(key, after=view.steps, wait_s=10.0)
    return view


def test_a_run_tells_how_far_it_is_and_hands_back_its_result(jobs: Jobs) -> None:
    jobs.start("a", COUNT, {"to": 3, "pause_s": 0.05})

    first = jobs.look("a", after=0, wait_s=10.0)
    last = wait_for_end(jobs, "a")

    assert first.state == "running"
    assert first.data["number"] == 1
    assert last.state == "done"
    assert last.data == {"number": 3}


def test_the_same_question_asked_twice_is_one_run(jobs: Jobs, tmp_path: Path) -> None:
    """A page loaded anew in mid-run finds the run that is going; no second one starts beside it."""
    arguments = {"to": 40, "pause_s": 0.05, "file": str(tmp_path / "pid")}
    jobs.start("a", COUNT, arguments)
    before = jobs.look("a", after=0, wait_s=10.0)
    pid = (tmp_path / "pid").read_text().split()[0]

    again = jobs.start("a", COUNT, arguments)
    after = jobs.look("a", after=again.steps, wait_s=10.0)

    assert after.data["number"] > before.data["number"]
    assert (tmp_path / "pid").read_text().split()[0] == pid


def test_an_error_in_a_run_is_said_in_words_with_a_note_for_the_log(jobs: Jobs) -> None:
    jobs.start("a", "job_targets:fail", {})

    view = wait_for_end(jobs, "a")

    assert view.state == "failed"
    assert view.words == "ValueError: width 0 is not allowed"
    assert "job_targets.py" in view.data["trace"]
    assert len(view.note) == 4


def test_a_worker_that_dies_without_a_word_is_reported_with_its_exit_code(jobs: Jobs) -> None:
    jobs.start("a", "job_targets:die", {})

    view = wait_for_end(jobs, "a")

    assert view.state == "failed"
    assert "without a result: exit code 9" in view.words


def test_a_stopped_run_ends_soon_and_keeps_what_it_told(jobs: Jobs) -> None:
    jobs.start("a", COUNT, {"to": 1000, "pause_s": 0.02})
    jobs.look("a", after=2, wait_s=10.0)

    jobs.stop("a")
    view = wait_for_end(jobs, "a")

    assert view.state == "done"
    assert view.data["stopped"] is True
    assert view.data["number"] >= 1


def test_a_run_that_does_not_listen_is_ended(jobs: Jobs, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(jobs_module, "GRACE_S", 0.2)
    jobs.start("a", "job_targets:deaf", {"file": str(tmp_path / "pid")})
    jobs.look("a", after=0, wait_s=10.0)

    assert jobs.stop("a").state == "stopping"
    view = wait_for_end(jobs, "a")

    assert view.state == "stopped"
    assert view.data == {"number": 1}
    assert not psutil.pid_exists(int((tmp_path / "pid").read_text()))


def test_a_run_that_nobody_looks_at_is_stopped(tmp_path: Path) -> None:
    """The browser was closed: the page asks no more, and the run must not go on for ever."""
    jobs = Jobs(limit=1, stale_s=0.5)
    jobs.start("a", COUNT, {"to": 10_000, "pause_s": 0.02, "file": str(tmp_path / "pid")})
    assert wait_until(lambda: jobs.look("a").going and (tmp_path / "pid").exists())
    pid = int((tmp_path / "pid").read_text().split()[0])

    gone = wait_until(lambda: not psutil.pid_exists(pid))
    jobs.close()

    assert gone


def test_looking_keeps_a_run_alive() -> None:
    jobs = Jobs(limit=1, stale_s=0.6)
    jobs.start("a", COUNT, {"to": 10_000, "pause_s": 0.02})

    states = []
    for _ in range(10):
        time.sleep(0.15)
        states.append(jobs.look("a").state)
    jobs.close()

    assert states == ["running"] * 10


def test_others_wait_while_all_places_are_taken(jobs: Jobs) -> None:
    jobs.start("a", COUNT, {"to": 1000, "pause_s": 0.02}, owner="one")

    assert jobs.start("b", COUNT, {"to": 1, "pause_s": 0.0}, owner="two").state == "waits"
    jobs.stop("a")
    wait_for_end(jobs, "a")

    jobs.start("b", COUNT, {"to": 1, "pause_s": 0.0}, owner="two")
    assert wait_for_end(jobs, "b").state == "done"


def test_a_page_that_asks_something_else_gives_up_its_old_run(jobs: Jobs) -> None:
    jobs.start("a", COUNT, {"to": 1000, "pause_s": 0.02}, owner="one")

    assert jobs.start("b", COUNT, {"to": 1, "pause_s": 0.0}, owner="one").state == "running"
    assert wait_for_end(jobs, "a").data["stopped"] is True


def test_a_run_takes_the_process_that_stands_ready(jobs: Jobs, tmp_path: Path) -> None:
    """Most of a start is the new process; one that waits has that behind it."""
    jobs.warm()
    ready = {child.pid for child in psutil.Process().children()}

    jobs.start("a", COUNT, {"to": 1, "pause_s": 0.0, "file": str(tmp_path / "pid")})
    wait_for_end(jobs, "a")

    assert int((tmp_path / "pid").read_text().split()[0]) in ready


def test_an_unknown_run_is_no_run(jobs: Jobs) -> None:
    assert jobs.look("nothing").state == "none"
    assert jobs.stop("nothing").state == "none"


def test_a_run_dies_with_its_server(root: Path, tmp_path: Path) -> None:
    """The server is killed outright: nobody can tell the worker, its broken pipe must."""
    script = (
        "import sys, time\n"
        f"sys.path[:0] = [{str(root)!r}, {str(root / 'tests')!r}]\n"
        "from dashboard.jobs import Jobs\n"
        "if __name__ == '__main__':\n"
        f"    Jobs().start('a', 'job_targets:count', dict(to=10000, pause_s=0.02, file={str(tmp_path / 'pid')!r}))\n"
        "    time.sleep(60)\n"
    )
    (tmp_path / "server.py").write_text(script, encoding="utf-8")
    server = subprocess.Popen([sys.executable, str(tmp_path / "server.py")])
    assert wait_until((tmp_path / "pid").exists)
    pid = int((tmp_path / "pid").read_text().split()[0])

    server.kill()
    server.wait()

    assert wait_until(lambda: not psutil.pid_exists(pid) or psutil.Process(pid).status() == psutil.STATUS_ZOMBIE)
