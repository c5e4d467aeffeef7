"""How a trace is packed: whole seconds from the start of a stretch, nothing said twice."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Stretch:
    """The stretch of time that is packed, in the trace's own seconds."""

    start_s: float
    end_s: float

    def packed(self, time_s: float) -> int:
        """Return a time as whole seconds from the start, cut to the stretch."""
        return round(min(max(time_s, self.start_s), self.end_s) - self.start_s)


@dataclass
class Steps:
    """Values that hold from their time on; one at the same time as the last replaces it, an equal one is dropped."""

    time: list[int] = field(default_factory=list)
    value: list[Any] = field(default_factory=list)

    def add(self, time: int, value: Any) -> None:  # noqa: ANN401 - a code, an index or a number
        """Let a value hold from a time on."""
        if self.time and time == self.time[-1]:
            self.time.pop()
            self.value.pop()
        if not self.value or value != self.value[-1]:
            self.time.append(time)
            self.value.append(value)


def plain_number(value: float) -> float | int:
    """Return a number with three decimals, without any where it has none."""
    rounded = round(float(value), 3)
    return int(rounded) if rounded == int(rounded) else rounded


Packed = tuple[list[int], list[Any]]


def packed_series(time_s: Sequence[float], value: Sequence[float], clock: Stretch, linear: bool) -> Packed:
    """Pack a level: steps keep what holds at the start, lines are cut at both ends."""
    first = max((i for i, time in enumerate(time_s) if time <= clock.start_s), default=0)
    last = min((i for i, time in enumerate(time_s) if time >= clock.end_s), default=len(time_s) - 1)
    if not linear:
        steps = Steps()
        for i in range(first, last + 1):
            if time_s[i] < clock.end_s or i == first:
                steps.add(clock.packed(time_s[i]), plain_number(value[i]))
        return steps.time, steps.value
    points = [(float(time_s[i]), float(value[i])) for i in range(first, last + 1)]
    within = [point for point in points if clock.start_s < point[0] < clock.end_s]
    cut = [_at(points, clock.start_s), *within, _at(points, clock.end_s)]
    kept = [p for i, p in enumerate(cut) if i in (0, len(cut) - 1) or not _straight(cut[i - 1], p, cut[i + 1])]
    return [clock.packed(time) for time, _ in kept], [plain_number(level) for _, level in kept]


def _at(points: list[tuple[float, float]], time: float) -> tuple[float, float]:
    """Return the point of a line at a time; before its first and after its last point it is level."""
    before = [point for point in points if point[0] <= time]
    after = [point for point in points if point[0] > time]
    if not before or not after:
        return time, (before[-1] if before else after[0])[1]
    (t0, v0), (t1, v1) = before[-1], after[0]
    return time, v0 + (v1 - v0) * (time - t0) / (t1 - t0)


def _straight(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> bool:
    """Whether a point lies on the line between its neighbours, so that it may be left out."""
    if not a[0] < b[0] < c[0]:
        return False
    return abs(a[1] + (c[1] - a[1]) * (b[0] - a[0]) / (c[0] - a[0]) - b[1]) < 1e-3
