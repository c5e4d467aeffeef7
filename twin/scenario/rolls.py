"""The work rolls of a mill: their sets, what wears and damages them, the roll shop, how a change is timed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, ClassVar

from pydantic import Field, ValidationInfo, model_validator
from pydantic.json_schema import JsonSchemaValue

from twin.scenario.faults import Problem, Refusal, refuse
from twin.scenario.fields import NO_MASS, NO_TIME, Length, MassLaw, Part, Run, TimeLaw
from twin.scenario.laws import Law
from twin.scenario.markers import LawOf, Marker, Quantity, Whole
from twin.scenario.quantities import Amount, parse
from twin.scenario.weekly import Moment, parse_moment


@dataclass(frozen=True, slots=True)
class AtLimit:
    """Change when ``change_after`` is reached; this always holds, whatever other rule is named."""


@dataclass(frozen=True, slots=True)
class WhenIdle:
    """Take a blocked, starved or closed moment once the rolls have run ``after``, while enough sets stay ready."""

    after: Amount
    keep_ready: int = 1


@dataclass(frozen=True, slots=True)
class AtTimes:
    """Change at these moments: each week, or once."""

    times: tuple[Moment, ...]


RollRule = AtLimit | WhenIdle | AtTimes


@dataclass(frozen=True)
class RollRules(Marker):
    """Reads ``at limit``, ``{when idle after: 40 km, keep ready: 2}``, ``{at: [Wed 14:00]}`` or a list of them."""

    SHAPES: ClassVar[tuple[str, ...]] = ("at limit", "when idle after", "at")

    def read(self, value: object, info: ValidationInfo | None) -> tuple[RollRule, ...]:
        """Return the rules in the order they are written."""
        if not isinstance(value, list | tuple):
            return (self._one(value),)
        rules: list[RollRule] = []
        problems: list[Problem] = []
        for number, item in enumerate(value):
            try:
                rules.append(self._one(item))
            except Refusal as refusal:
                problems += [problem.below(number) for problem in refusal.problems]
        if problems:
            raise Refusal(*problems)
        return tuple(rules)

    def _one(self, value: object) -> RollRule:
        if value == "at limit":
            return AtLimit()
        if (
            isinstance(value, Mapping)
            and "when idle after" in value
            and set(value) <= {"when idle after", "keep ready"}
        ):
            after = parse(value["when idle after"], ("length", "mass"))
            keep = Whole(0, 100, "sets").read(value.get("keep ready", 1), None)
            return WhenIdle(after, keep or 0)
        if isinstance(value, Mapping) and set(value) == {"at"} and isinstance(value["at"], list | tuple):
            return AtTimes(tuple(parse_moment(moment) for moment in value["at"]))
        word = str(next(iter(value), "")) if isinstance(value, Mapping) else str(value)
        raise refuse(
            f"'{word}' is not a rule for roll changes",
            value=word,
            way_out="Write 'at limit', {when idle after: 40 km, keep ready: 2} or {at: [Wed 14:00]}",
        )

    def schema(self) -> JsonSchemaValue:
        """Return the JSON Schema of what may be written."""
        idle = {
            "type": "object",
            "properties": {"when idle after": {"type": "string"}, "keep ready": {"type": "integer", "minimum": 0}},
            "required": ["when idle after"],
            "additionalProperties": False,
        }
        times = {
            "type": "object",
            "properties": {"at": {"type": "array", "items": {"type": "string"}}},
            "required": ["at"],
            "additionalProperties": False,
        }
        one: list[JsonSchemaValue] = [{"const": "at limit"}, idle, times]
        return {"anyOf": [*one, {"type": "array", "items": {"anyOf": one}}]}

    def words(self) -> str:
        """Return what may be written."""
        return "at limit, {when idle after: 40 km, keep ready: 2}, {at: [Wed 14:00]}, or a list of these"


class FirstCoil(Part):
    """What the first coil on fresh rolls costs."""

    slower: Annotated[float, Quantity("number", "1", "20")] = Field(
        1.0, description="How many times longer the first coil takes.", examples=["1.25"]
    )
    scrap: MassLaw = Field(NO_MASS, description="Metal scrapped from the first coil.", examples=["0.35 t"])


class BackUp(Part):
    """Back-up rolls, which take the same grinder from time to time."""

    every: Annotated[float, Quantity("changes", above=True)] = Field(
        description="Work-roll changes between two grindings of a back-up roll.", examples=["24 changes"]
    )
    grind: TimeLaw = Field(description="How long the grinder is taken.", examples=["9 h"])


class RollShop(Part):
    """Where used roll sets are made ready again."""

    calendar: str | None = Field(
        None, description="When the roll shop works; left out: always.", examples=["day shift"]
    )
    people: Annotated[int, Whole(1, 50, "people")] = Field(
        1, description="Sets that can be worked on at once, one person each.", examples=["1"]
    )
    cool: TimeLaw = Field(NO_TIME, description="A set cools this long first; nobody is needed.", examples=["10 h"])
    grind: TimeLaw = Field(NO_TIME, description="Grinding a set.", examples=["3.1 h"])
    extra_after_damage: TimeLaw = Field(NO_TIME, description="More grinding after damage.", examples=["2 h"])
    assemble: TimeLaw = Field(NO_TIME, description="Fitting chocks and inspecting a set.", examples=["1.5 h"])
    back_up: BackUp | None = Field(None, description="Back-up rolls that take the grinder.")
    removes: Length = Field(0.0, description="Diameter ground off each time.", examples=["0.14 mm"])
    removes_after_damage: Length = Field(
        0.0, description="Diameter ground off after damage, in place of `removes`.", examples=["0.6 mm"]
    )
    new: Length | None = Field(None, description="Diameter of a new roll.", examples=["360 mm"])
    scrap_below: Length | None = Field(
        None, description="Diameter below which a roll is scrapped; a new set comes in its place.", examples=["335 mm"]
    )

    @model_validator(mode="after")
    def _wears(self) -> RollShop:
        if self.new is not None and self.scrap_below is not None and self.scrap_below >= self.new:
            raise refuse(
                "rolls are scrapped below a diameter that new ones do not have",
                limit="scrap_below less than new",
                way_out="Make new larger than scrap_below",
                within=("scrap_below",),
            )
        if self.scrap_below is not None and self.new is None:
            raise refuse(
                "scrap_below needs the diameter of a new roll", way_out="Add new: 360 mm", within=("scrap_below",)
            )
        return self


class Rolls(Part):
    """The work rolls of a mill."""

    sets: Annotated[int | None, Whole(1, 1000, "sets", unlimited=True)] = Field(
        description="Roll sets in all, the one on the mill among them; or `unlimited`.", examples=["5"]
    )
    change_after: Run | None = Field(
        None, description="Strip through the bite, or mass, after which rolls are changed.", examples=["57 km"]
    )
    change: TimeLaw = Field(description="How long a planned change takes.", examples=["30 min"])
    damage: Annotated[Law, LawOf(("length", "mass"), above=True)] | None = Field(
        None, description="Life until rolls are damaged.", examples=["{weibull: {shape: 2.4, scale: 110 km}}"]
    )
    damaged_change: TimeLaw = Field(
        NO_TIME, description="How long the change takes after damage; left out: as `change`.", examples=["95 min"]
    )
    damage_scrap: MassLaw = Field(NO_MASS, description="Metal scrapped at a damage.", examples=["1.6 t"])
    first_coil: FirstCoil | None = Field(None, description="What the first coil on fresh rolls costs.")
    heating: TimeLaw | None = Field(
        None, description="How long a set is heated before it is ready; nobody is needed.", examples=["4 h"]
    )
    calendar: str | None = Field(None, description="When changes go on; left out: as the mill.", examples=["relay"])
    needs: str | None = Field(None, description="The shared crane or crew that a change takes.", examples=["crane"])
    shop: RollShop | None = Field(None, description="The roll shop; left out: a used set is ready again at once.")
    rule: Annotated[tuple[RollRule, ...], RollRules()] = Field(
        (AtLimit(),), description="How a change is timed before the limit is reached.", examples=["at limit"]
    )

    @model_validator(mode="before")
    @classmethod
    def _damaged_as_change(cls, value: object) -> object:
        if isinstance(value, Mapping) and "damaged_change" not in value and "change" in value:
            return {**value, "damaged_change": value["change"]}
        return value

    @model_validator(mode="after")
    def _changes_make_sense(self) -> Rolls:
        if self.change_after is None and self.damage is None:
            raise refuse(
                "rolls that never wear and are never damaged need no sets",
                way_out="Give change_after or damage, or leave rolls out",
            )
        return self
