"""The only door for input: scenario files, read into typed models in SI units, with plain errors."""

from twin.scenario.faults import Fault, ScenarioError
from twin.scenario.files import load, loads, save
from twin.scenario.laws import Law
from twin.scenario.models import Scenario
from twin.scenario.options import apply_options, apply_set, apply_settings
from twin.scenario.schema import json_schema
from twin.scenario.settings import Setting, numbers

__all__ = [
    "Fault",
    "Law",
    "Scenario",
    "ScenarioError",
    "Setting",
    "apply_options",
    "apply_set",
    "apply_settings",
    "json_schema",
    "load",
    "loads",
    "numbers",
    "save",
]
