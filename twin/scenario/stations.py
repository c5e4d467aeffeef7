"""All kinds of stations."""

from __future__ import annotations

from twin.scenario.casting import Caster, Furnace, Supply
from twin.scenario.finishing import Cutter, Profiler, Slitter, Step
from twin.scenario.rolling import Mill

Station = Supply | Furnace | Caster | Mill | Slitter | Cutter | Profiler | Step


KINDS: dict[str, type[Station]] = {
    "supply": Supply,
    "furnace": Furnace,
    "caster": Caster,
    "mill": Mill,
    "slitter": Slitter,
    "cutter": Cutter,
    "profiler": Profiler,
    "step": Step,
}
