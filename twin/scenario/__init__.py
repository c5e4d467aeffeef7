"""The only door for input: scenario files, read into typed models in SI units, with plain errors."""

from twin.scenario.faults import Fault, ScenarioError
from twin.scenario.files import load, loads
from twin.scenario.laws import Law
from twin.scenario.models import Scenario
from twin.scenario.options import apply_options, apply_set

__all__ = ["Fault", "Law", "Scenario", "ScenarioError", "apply_options", "apply_set", "load", "loads"]
