"""A plan of roll changes begins as the plant's log leaves it, where there is one."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tours import SMALL

from dashboard import answers, rolls_work
from dashboard.ask import Ask
from dashboard.pages import rolls
from dashboard.parts.amounts import METRIC
from dashboard.parts.rolls_parts import sections
from dashboard.parts.rolls_view import LEAST_BEFORE_S, span_of
from dashboard.rolls_state import NOT_TOLD, TOLD, WAY_OUT, Told, brought, state_told
from dashboard.settings import Settings
from dashboard.worker import Desk
from twin.line import simulate
from twin.logs.save import save_log
from twin.logs.write import log_of
from twin.scenario import Scenario, apply_set, load, loads
from twin.scenario.calendars import timestamp

KEY, BARE = "6" * 20, "9" * 20


@dataclass(frozen=True)
class Plant:
    """A plant with nine days of its log, and what the run that wrote it knew."""

    settings: Settings
    file: Path
    levels: dict[str, Any]
    begin: float

    @property
    def log(self) -> str:
        """Where the log lies."""
        assert self.settings.logs is not None
        return str(self.settings.logs / "small")


@pytest.fixture(scope="module")
def plant(tmp_path_factory: pytest.TempPathFactory) -> Plant:
    folder, logs = tmp_path_factory.mktemp("plants"), tmp_path_factory.mktemp("logs")
    (folder / "small.yaml").write_text(SMALL, encoding="utf-8")
    scenario = apply_set(loads(SMALL), "time.length", "9 days")
    trace = simulate(scenario, seed=3, trace=True).trace
    assert trace is not None
    save_log(log_of(trace, scenario), logs / "small")
    settings = Settings(plants=folder, logs=logs, kept=tmp_path_factory.mktemp("kept"))
    begin = timestamp(scenario.time, scenario.time.start)
    return Plant(settings, folder / "small.yaml", dict(trace.tables["levels"]), begin)


def told(plant: Plant) -> Told:
    made = state_told(load(plant.file), str(plant.file), [], plant.log)
    assert isinstance(made, Told)
    return made


def moment(plant: Plant, scenario: Scenario) -> float:
    """Return when the plan begins, from the start of the run that wrote the log. [s]"""
    return timestamp(scenario.time, scenario.time.start) - plant.begin


def test_the_plan_begins_on_the_morning_after_the_last_whole_day(plant: Plant) -> None:
    assert told(plant).scenario.time.start == datetime(2026, 3, 18, 6, 0)


def test_as_many_coils_lie_in_the_store_as_the_run_that_wrote_the_log_had(plant: Plant) -> None:
    scenario = told(plant).scenario
    own = plant.levels["store"] == "cooling store"
    before = np.flatnonzero(own & (plant.levels["time_s"] <= moment(plant, scenario)))[-1]

    assert plant.levels["level"][before] > 0
    assert scenario.start.stores["cooling store"].amount == plant.levels["level"][before]


def test_a_store_of_which_the_log_tells_nothing_is_filled_as_on_a_typical_morning(
    plant: Plant, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Deliveries are in no log, so what lies before the mill of this plant is not known from its rows."""
    monkeypatch.setattr(
        "twin.study.review_morning.typical_morning", lambda *_: {"stores": {"cast coils": 11, "cooling store": 99}}
    )
    made = told(plant)

    assert made.scenario.start.stores["cast coils"].amount == 11
    assert made.scenario.start.stores["cooling store"].amount != 99
    assert NOT_TOLD.format("cast coils") in made.assumed


def test_a_state_that_the_file_gives_goes_before_the_log(plant: Plant) -> None:
    given = apply_set(load(plant.file), "start", {"stores": {"cast coils": 7}})
    made = state_told(given, str(plant.file), [], plant.log)

    assert isinstance(made, Told)
    assert made.scenario is given


def test_a_bad_log_leaves_the_plan_standing_and_says_why(plant: Plant, tmp_path: Path) -> None:
    (tmp_path / "small").mkdir()
    (tmp_path / "small" / "stops.csv").write_text("station,start,end,reason\nmill,soon,later,jam\n", encoding="utf-8")
    (tmp_path / "small" / "output.csv").write_text("station,time,good_kg\nslitter,soon,1\n", encoding="utf-8")
    said = state_told(load(plant.file), str(plant.file), [], str(tmp_path / "small"))

    assert isinstance(said, str)
    assert said.startswith("The log tells no state to plan from: small")
    assert str(tmp_path) not in said


def answer_of(plant: Plant, key: str, more: dict[str, Any]) -> dict[str, Any]:
    order: dict[str, Any] = {"file": str(plant.file), "plant": "small", "options": [], "runs": 2, "seed": 2026}
    desk = Desk(lambda _: None, lambda: False)
    rolls_work.rolls(desk, **order, kept=str(plant.settings.kept), key=key, mark="m", **more)
    found = answers.read(plant.settings.kept, key)
    assert found is not None
    return found


def test_the_page_says_where_its_state_is_from(plant: Plant) -> None:
    logged = answer_of(plant, KEY, brought(plant.settings, Ask(plant="small")))
    bare = answer_of(plant, BARE, brought(Settings(kept=plant.settings.kept), Ask(plant="small")))

    assert TOLD in str(rolls.verdict_block(logged, {"kind": "whole"}, METRIC))
    assert "simulated week" in str(rolls.verdict_block(bare, {"kind": "whole"}, METRIC))
    assert WAY_OUT not in str(sections(logged, METRIC))
    assert WAY_OUT in str(sections(bare, METRIC))
    assert logged["results"]["now"].startswith("2026-03-18T06:00")
    assert "Left of now nothing is known" in str(sections(logged, METRIC))
    assert "Left of now as it happened" in str(sections(bare, METRIC))
    assert span_of(logged["results"]).now == LEAST_BEFORE_S
