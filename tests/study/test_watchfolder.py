"""A folder of logs that is watched: waited for, taken in, refused in words, and never written into."""

import multiprocessing
import threading
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from statistics import stdev
from time import monotonic, sleep

import pytest
from typer.testing import CliRunner

from twin.cli import app
from twin.line import simulate
from twin.logs import Log, LogError
from twin.logs.save import save_log
from twin.logs.write import log_of
from twin.scenario import Scenario, apply_set, load
from twin.store import Store
from twin.study.scorebook import Scorebook
from twin.study.watchdays import How, StoppedError, take_in
from twin.study.watchfolder import Folder, Found, Note, Watcher, logs_in, plant_of, taken

ROOT = Path(__file__).parents[2]
PLANT = ROOT / "scenarios" / "marram.yaml"
FEW = How(runs=19, look_back=0)


@pytest.fixture(scope="module")
def recorded() -> tuple[Scenario, Log]:
    """Return an invented plant and twelve days of its log."""
    scenario = load(PLANT)
    trace = simulate(apply_set(scenario, "time.length", "12 days"), trace=True).trace
    assert trace is not None
    return scenario, log_of(trace, scenario)


def until(log: Log, moment: float) -> Log:
    """Return what had been written down by a moment [s since 1970 UTC]."""
    last = {"stops": "end", "output": "time", "rolls": "off", "coils": "end", "stock": "time"}
    return log.put(*(table.take(table[last[table.name]] <= moment) for table in log.tables.values()))


def morning(scenario: Scenario, day: str) -> float:
    """Return when a production day begins [s since 1970 UTC]."""
    begin = scenario.time.start.time()
    return datetime.combine(datetime.fromisoformat(day).date(), begin, scenario.time.tz).timestamp()


@pytest.fixture
def address(tmp_path: Path) -> str:
    return f"sqlite:///{tmp_path / 'store' / 'book.db'}"


def content(folder: Path) -> dict[str, tuple[str, int]]:
    """Return digest and time of change of everything in a folder."""
    files = [file for file in folder.rglob("*") if file.is_file()]
    return {
        file.relative_to(folder).as_posix(): (sha256(file.read_bytes()).hexdigest(), file.stat().st_mtime_ns)
        for file in files
    }


# What lies in the folder


def put(*places: Path) -> None:
    """Write small files."""
    for place in places:
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_text("station\n", encoding="utf-8")


def test_a_folder_with_tables_is_one_log(tmp_path: Path) -> None:
    put(tmp_path / "stops.csv", tmp_path / "output.csv", tmp_path / "old" / "stops.csv")

    assert [own.place for own in logs_in(tmp_path)] == [tmp_path]


def test_a_folder_of_logs_has_folders_and_workbooks(tmp_path: Path) -> None:
    put(tmp_path / "b" / "stops.csv", tmp_path / "a.xlsx", tmp_path / "empty" / "notes.txt", tmp_path / "readme.md")

    assert [own.place.name for own in logs_in(tmp_path)] == ["a.xlsx", "b"]


def test_what_is_not_finished_or_hidden_is_left_alone(tmp_path: Path) -> None:
    put(tmp_path / "a.xlsx.part", tmp_path / "~$a.xlsx", tmp_path / ".b" / "stops.csv", tmp_path / "stops.csv.tmp")

    assert logs_in(tmp_path) == ()


def test_a_folder_that_is_away_has_no_logs(tmp_path: Path) -> None:
    assert logs_in(tmp_path / "unplugged") == ()


def test_a_log_belongs_to_the_only_plant_or_to_that_of_its_name(tmp_path: Path) -> None:
    one, other = tmp_path / "marram.yaml", tmp_path / "skerry.yaml"

    assert plant_of(tmp_path / "whatever", [one]) == one
    assert plant_of(tmp_path / "Skerry.xlsx", [one, other]) == other
    assert plant_of(tmp_path / "marram", [one, other]) == one
    assert plant_of(tmp_path / "whatever", [one, other]) is None


def test_a_log_that_still_grows_is_waited_for(tmp_path: Path) -> None:
    now = [0.0]
    folder = Folder(tmp_path, quiet_s=10.0, clock=lambda: now[0])

    def ready_at(moment: float) -> list[Found]:
        now[0] = moment
        return list(folder.ready())

    put(tmp_path / "stops.csv")
    assert ready_at(0.0) == []
    assert ready_at(8.0) == []
    put(tmp_path / "output.csv")  # the second file comes while the first is waited for
    assert ready_at(11.0) == []
    (own,) = ready_at(21.5)
    folder.done(own)
    assert ready_at(60.0) == []
    (tmp_path / "output.csv").write_text("station\nmill\n", encoding="utf-8")
    assert ready_at(70.0) == []
    assert len(ready_at(80.0)) == 1


# What a log brings


def test_each_new_day_is_scored_and_the_next_one_forecast(
    recorded: tuple[Scenario, Log], tmp_path: Path, address: str
) -> None:
    scenario, log = recorded
    folder = tmp_path / "log"
    now = [morning(scenario, "2026-04-22") - 3600.0]
    book = Scorebook(Store(address), scenario.name, now=lambda: datetime.fromtimestamp(now[0], UTC))

    def bring(day: str, hours: float) -> str:
        now[0] = morning(scenario, day) + hours * 3600.0
        save_log(until(log, now[0]), folder)
        own = take_in(scenario, folder, book, FEW, now=lambda: datetime.fromtimestamp(now[0], UTC))
        return own.words

    first = bring("2026-04-22", 0.5)
    assert first.endswith(
        "2026-04-21 entered; it had not been forecast in time; forecast 2026-04-22 (begun already: "
        "does not count) and 2026-04-23"
    )
    frozen = book.frozen("2026-04-23")
    second = bring("2026-04-23", 0.5)
    assert "2026-04-22 entered; it had not been forecast in time" in second
    assert bring("2026-04-23", 0.5).endswith("nothing new")  # the same log, as when the pages are served anew
    third = bring("2026-04-24", 0.5)
    (settled,) = book.days()
    assert f"2026-04-23 was {settled.place.words}" in third
    assert settled.frozen == frozen
    assert book.store.broken_seal(scenario.name) is None
    assert len(book.outcomes()) >= 9


def test_over_a_week_end_the_next_working_day_is_forecast(
    recorded: tuple[Scenario, Log], tmp_path: Path, address: str
) -> None:
    """The plant rests from Saturday on; 2026-04-24 is a Friday."""
    scenario, log = recorded
    save_log(log, tmp_path / "log")
    when = datetime.fromtimestamp(log.span[1] + 1800.0, UTC)
    book = Scorebook(Store(address), scenario.name, now=lambda: when)
    own = take_in(scenario, tmp_path / "log", book, How(19, look_back=2), now=lambda: when)

    assert [frozen.forecast.day for frozen in own.frozen] == ["2026-04-27"]
    assert own.frozen[0].in_time
    assert own.looked_back == own.days[-2:]
    assert [settled.frozen.in_time for settled in book.days(False)] == [False, False]


def test_the_production_day_begins_when_the_plant_says(
    recorded: tuple[Scenario, Log], tmp_path: Path, address: str
) -> None:
    """A mapping beside the log declares 22:00; its times carry offsets, so they need no moving."""
    scenario, log = recorded
    save_log(log, tmp_path / "log")
    (tmp_path / "log" / "mapping.yaml").write_text('production_day: "22:00"\n', encoding="utf-8")
    book = Scorebook(Store(address), scenario.name)
    (frozen,) = take_in(scenario, tmp_path / "log", book, FEW).frozen
    begin = datetime.fromtimestamp(frozen.forecast.begin_s, scenario.time.tz)

    assert (begin.hour, begin.minute) == (22, 0)
    assert begin.date().isoformat() == frozen.forecast.day


def test_behind_an_old_log_only_the_next_day_is_forecast(
    recorded: tuple[Scenario, Log], tmp_path: Path, address: str
) -> None:
    scenario, log = recorded
    save_log(log, tmp_path / "log")
    own = take_in(scenario, tmp_path / "log", Scorebook(Store(address), scenario.name), FEW)

    assert [(frozen.forecast.day, frozen.in_time) for frozen in own.frozen] == [("2026-04-27", False)]


def test_with_uncertain_inputs_a_forecast_is_wider_and_says_so(
    recorded: tuple[Scenario, Log], tmp_path: Path, address: str
) -> None:
    scenario, log = recorded
    save_log(log, tmp_path / "log")
    book = Scorebook(Store(address), scenario.name)
    wide = []
    for uncertain in (False, True):
        own = take_in(scenario, tmp_path / "log", book, How(runs=39, look_back=0, uncertain=uncertain))
        wide.append(stdev(own.frozen[0].forecast.sample_t))
        assert own.frozen[0].forecast.inputs == ("uncertain" if uncertain else "best")
        assert own.words.endswith("inputs as uncertain as they are") is uncertain

    assert wide[1] > wide[0]


def test_the_same_log_again_brings_nothing_new(recorded: tuple[Scenario, Log], tmp_path: Path, address: str) -> None:
    scenario, log = recorded
    save_log(log, tmp_path / "log")
    before = content(tmp_path / "log")
    assert taken(PLANT, tmp_path / "log", address, FEW)[0]
    store = Store(address)
    entries = store.book(scenario.name)
    good, words = taken(PLANT, tmp_path / "log", address, FEW)

    assert good
    assert words.endswith("nothing new")
    assert store.book(scenario.name) == entries
    assert content(tmp_path / "log") == before


def test_it_can_be_stopped_between_runs(recorded: tuple[Scenario, Log], tmp_path: Path, address: str) -> None:
    scenario, log = recorded
    save_log(log, tmp_path / "log")

    with pytest.raises(StoppedError):
        take_in(scenario, tmp_path / "log", Scorebook(Store(address), scenario.name), FEW, stop=lambda: True)


def test_a_log_without_a_whole_day_is_refused(recorded: tuple[Scenario, Log], tmp_path: Path, address: str) -> None:
    scenario, log = recorded
    first = log.span[0]
    save_log(until(log, first + 3600.0), tmp_path / "log")

    with pytest.raises(LogError, match="covers no whole day"):
        take_in(scenario, tmp_path / "log", Scorebook(Store(address), scenario.name), FEW)


def test_a_bad_file_is_told_in_words_with_the_way_out(tmp_path: Path, address: str) -> None:
    folder = tmp_path / "monday"
    put(folder / "output.csv")
    (folder / "stops.csv").write_text("station,machine,start,end,reason\nmill,1,yesterday,,stop\n", encoding="utf-8")
    good, words = taken(PLANT, folder, address, FEW)

    assert not good
    assert "stops.csv, line 2" in words and "yesterday" in words
    assert str(tmp_path) not in words


def test_a_fault_of_ours_does_not_end_the_watching(
    tmp_path: Path, address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("by nothing")

    monkeypatch.setattr("twin.study.watchdays.take_in", broken)

    assert taken(PLANT, tmp_path, address, FEW) == (
        False,
        "this is a fault of passline, not of your log: ZeroDivisionError: by nothing",
    )


# The thread and its process


def waited(done: Callable[[], bool], seconds: float = 60.0) -> bool:
    """Return whether something came true in time."""
    end = monotonic() + seconds
    while not done() and monotonic() < end:
        sleep(0.02)
    return done()


@pytest.fixture
def nothing_left() -> Iterator[None]:
    """Hold that no thread and no process outlive a test; those of an earlier test's pool are none of its own."""
    before, children = set(threading.enumerate()), set(multiprocessing.active_children())
    yield
    assert set(threading.enumerate()) <= before
    assert set(multiprocessing.active_children()) <= children


@pytest.mark.usefixtures("nothing_left")
def test_a_watched_folder_tells_of_good_logs_and_bad_ones(
    recorded: tuple[Scenario, Log], tmp_path: Path, address: str
) -> None:
    scenario, log = recorded
    folder = tmp_path / "logs"
    save_log(log, folder / "marram")
    put(folder / "skerry" / "stops.csv", folder / "nobody" / "stops.csv")
    before, told = content(folder), list[Note]()
    plants = [PLANT, PLANT.with_name("skerry.yaml")]
    watcher = Watcher(folder, plants, address=address, tell=told.append, look_s=0.05, quiet_s=0.1, how=FEW)
    watcher.start()
    try:
        assert waited(lambda: len(told) == 3)
    finally:
        watcher.stop()
    said = {note.log: note for note in told}

    assert watcher.notes == tuple(told)
    assert said["marram"].good, said["marram"].words
    assert not said["skerry"].good
    assert "the log has no table 'output'" in said["skerry"].words
    assert said["nobody"].words == (
        "it is not said whose log this is: name its folder or workbook like one of marram, skerry"
    )
    assert content(folder) == before
    assert len(Store(address).book(scenario.name, "outcome")) > 5


@pytest.mark.usefixtures("nothing_left")
def test_an_end_in_the_midst_of_a_log_is_clean(recorded: tuple[Scenario, Log], tmp_path: Path, address: str) -> None:
    _, log = recorded
    save_log(log, tmp_path / "log")
    before = set(multiprocessing.active_children())
    watcher = Watcher(tmp_path / "log", [PLANT], address=address, look_s=0.05, quiet_s=0.0, how=How(runs=10**6))
    watcher.start()
    assert waited(lambda: bool(set(multiprocessing.active_children()) - before))
    begun = monotonic()
    watcher.stop()

    assert monotonic() - begun < 10.0
    assert watcher.notes == ()


# The command


def test_serve_wants_a_folder_that_is_there_and_a_plant(tmp_path: Path) -> None:
    away = CliRunner().invoke(app, ["serve", str(PLANT), "--logs", str(tmp_path / "away")])
    alone = CliRunner().invoke(app, ["serve", "--logs", str(tmp_path)])

    assert (away.exit_code, alone.exit_code) == (2, 2)
    assert "name a folder in which the plant puts its logs" in away.stderr
    assert "passline serve FILE --logs FOLDER" in alone.stderr
