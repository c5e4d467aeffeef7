"""Keys that are read and checked but change nothing that is counted: they say so, and it is true to the last bit."""

from pathlib import Path

import pytest
from pydantic import BaseModel

from twin.line import simulate
from twin.scenario import apply_settings, load, loads
from twin.scenario.models import Furnace, Metal, Pattern, Profiler

PLANT = Path(__file__).parents[2] / "scenarios" / "hollin_weir.yaml"
SHORT = {"time.warm_up": "1 day", "time.length": "6 days"}
KEYS: list[tuple[type[BaseModel], str, str, str]] = [
    (Furnace, "holding", "holding: 85 kW", "holding: 200 kW"),
    (Furnace, "pour", "pour: 510 degC", "pour: 560 degC"),
    (Furnace, "charge", "charge: 20 degC", "charge: 90 degC"),
    (Furnace, "returns", "returns: 20 %", "returns: 0 %"),
    (Profiler, "bundle", "bundle: 25 pieces", "bundle: 3 pieces"),
    (Pattern, "trim", "rings: {gutter 333: 3}", "rings: {gutter 333: 3}, trim: 10 mm"),
    (Metal, "thermal_expansion", "metal: zinc-titanium", "metal: {like: zinc-titanium, thermal_expansion: 9e-6 1/K}"),
    (Metal, "density_liquid", "metal: zinc-titanium", "metal: {like: zinc-titanium, density_liquid: 6000 kg/m3}"),
    (Metal, "strength", "metal: zinc-titanium", "metal: {like: zinc-titanium, strength: 500 MPa}"),
    (Metal, "hardening", "metal: zinc-titanium", "metal: {like: zinc-titanium, hardening: 0.3}"),
]


@pytest.mark.parametrize(("part", "key", "before", "after"), KEYS, ids=[key for _, key, _, _ in KEYS])
def test_a_key_that_changes_nothing_says_so(part: type[BaseModel], key: str, before: str, after: str) -> None:
    said = part.model_fields[key].description or ""
    text = PLANT.read_text(encoding="utf-8")
    assert before in text
    plain, changed = load(PLANT), loads(text.replace(before, after))

    assert "Checked only" in said or "A run counts no" in said
    assert changed.digest != plain.digest
    one, other = (simulate(apply_settings(own, SHORT), seed=1).totals.digest for own in (plain, changed))
    assert one == other, "what a key of no effect changes is a fault of its description"


def test_a_key_that_counts_changes_the_run() -> None:
    """Else the comparison above would say nothing."""
    text = PLANT.read_text(encoding="utf-8")
    lighter = loads(text.replace("metal: zinc-titanium", "metal: {like: zinc-titanium, density: 7000 kg/m3}"))
    one, other = (apply_settings(own, SHORT) for own in (load(PLANT), lighter))

    assert simulate(one, seed=1).totals.digest != simulate(other, seed=1).totals.digest
