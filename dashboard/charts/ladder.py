"""From expected to actual, rung by rung: the rungs add up exactly, and what nobody can explain is hatched."""

from collections.abc import Sequence
from dataclasses import dataclass

from dashboard.charts.axes import percent, share
from dashboard.charts.drawn import DrawnRow, Scale, drawn_table
from dashboard.charts.svg import NO_BREAK, amount, figure, hatch, tag

HEADS = ("tonnes", "in other orders", "place is sure", "record")
WORDS = frozenset({"record"})
HALF = 8.0
SUCH, WHATEVER = "Such days", "whatever their morning"


@dataclass(frozen=True)
class Rung:
    """One cause: where, how many tonnes it took (below 0) or gave, the range over orders of counting.

    `sure` says how sure its place among the causes is, `record` where it is written down.
    """

    cause: str
    station: str
    tonnes: float
    low: float | None = None
    high: float | None = None
    record: str = ""
    sure: str = ""


def _line(x: str, y1: str, y2: str, class_: str) -> str:
    return tag("line", x1=x, x2=x, y1=y1, y2=y2, class_=class_)


def _middle(*marks: str) -> str:
    """Return marks drawn about the middle of a row."""
    return tag("svg", *marks, y="50%", overflow="visible")


def _body(scale: Scale, start: float, end: float, class_: str, fill: str | None = None) -> str:
    low, high = min(start, end), max(start, end)
    width = percent(share(high, scale.low, scale.high) - share(low, scale.low, scale.high))
    return tag("rect", class_=class_, x=scale.x(low), y=-HALF, width=width, height=2 * HALF, fill=fill)


def _whisker(scale: Scale, start: float, rung: Rung) -> str:
    """Return how far the moving end of a rung goes when causes are counted in another order."""
    if rung.low is None or rung.high is None or rung.low == rung.high:
        return ""
    ends = [scale.x(start + rung.low), scale.x(start + rung.high)]
    level = tag("line", x1=ends[0], x2=ends[1], y1=0, y2=0, class_="pl-whisker")
    return level + "".join(_line(x, "-4", "4", "pl-whisker") for x in ends)


def rung_mark(scale: Scale, start: float, rung: Rung, *, unexplained: bool = False) -> str:
    """Return a rung between two risers: full metal lost, open gained, hatched and dashed unexplained."""
    end = start + rung.tonnes
    lost = rung.tonnes < 0
    class_ = "pl-unexplained" if unexplained else "pl-lost" if lost else "pl-gained"
    body = _body(scale, start, end, class_, "url(#ladder-hatch)" if unexplained else None)
    risers = _line(scale.x(start), "0", "50%", "pl-riser") + _line(scale.x(end), "50%", "100%", "pl-riser")
    return risers + _middle(body, _whisker(scale, start, rung))


def _plate(scale: Scale, value: float, *, between: bool = False) -> str:
    """Return an ink plate, or a fainter one that the risers run through."""
    plate = tag("rect", class_="pl-strip" if between else "pl-ink", x=-1.5, y=-13, width=3, height=26)
    down = _line(scale.x(value), "0" if between else "50%", "100%", "pl-riser")
    return down + _middle(tag("svg", plate, x=scale.x(value), overflow="visible"))


def _expected(scale: Scale, value: float, before: Sequence[Rung]) -> str:
    """Return the plate of what was expected, with a riser to it where rungs lead there."""
    riser = _line(scale.x(value), "0", "50%", "pl-riser") if before else ""
    return riser + _plate(scale, value)


def _ring(scale: Scale, value: float) -> str:
    ring = tag("circle", r=7, class_="pl-heavy-ring")
    up = _line(scale.x(value), "0", "50%", "pl-riser")
    return up + _middle(tag("svg", ring, x=scale.x(value), overflow="visible"))


def signed(tonnes: float, digits: int = 1) -> str:
    """Return tonnes with their sign, +0 too."""
    return figure(tonnes, digits) if tonnes < 0 and figure(tonnes, digits) != "0" else f"+{figure(abs(tonnes), digits)}"


def _cells(rung: Rung, unit: str) -> tuple[str, ...]:
    orders = "" if rung.low is None or rung.high is None else f"{signed(rung.low)} to {signed(rung.high)}"
    return f"{signed(rung.tonnes)}{NO_BREAK}{unit}", orders, rung.sure, rung.record


def ladder_scale(expected: float, actual: float, rungs: Sequence[Rung]) -> Scale:
    """Return a scale on which every rung and whisker has room."""
    reached, values = expected, [expected, actual]
    for rung in rungs:
        values += [reached + part for part in (rung.tonnes, rung.low, rung.high) if part is not None]
        reached += rung.tonnes
    room = 0.06 * (max(values) - min(values)) or 1.0
    return Scale(min(values) - room, max(values) + room)


def in_order(rungs: Sequence[Rung]) -> list[Rung]:
    """Return rungs as they are drawn: gains first, then losses, the largest of each first."""
    gains = sorted((rung for rung in rungs if rung.tonnes >= 0), key=lambda rung: -rung.tonnes)
    return gains + sorted((rung for rung in rungs if rung.tonnes < 0), key=lambda rung: rung.tonnes)


def refuse_gap(expected: float, actual: float, explained: float, unexplained: float) -> None:
    """Refuse rungs that do not lead from the expected tonnes to the actual ones."""
    gap = expected + explained + unexplained - actual
    if abs(gap) > 1e-6 * max(1.0, abs(expected)):
        raise ValueError(
            f"the rungs lead from {expected:g} to {actual + gap:g}, but the actual is {actual:g}: "
            f"the unexplained must be {unexplained - gap:g}"
        )


def ladder(
    expected: float,
    actual: float,
    rungs: Sequence[Rung],
    unexplained: float,
    *,
    before: Sequence[Rung] = (),
    after: Sequence[Rung] = (),
    unit: str = "t",
    notes: tuple[str, str, str] = ("on the day's calendar and plan", "with all that was recorded", "good t booked"),
) -> str:
    """Return the ladder as a drawn table. The rungs and the unexplained must lead from expected to actual.

    `before` are rungs that lead to what was expected, such as the state in the morning; they begin at what such days
    give. `after` are rungs that no cause on the line explains, such as what was booked on another day; the replay is
    before.
    """
    refuse_gap(expected, actual, sum(rung.tonnes for rung in (*rungs, *after)), unexplained)
    ordered = in_order(rungs)
    last = [*after, Rung("Unexplained", "", unexplained, record="see the records below")]
    first = expected - sum(rung.tonnes for rung in before)
    scale = ladder_scale(first, actual, [*before, *ordered, *last])
    rows = (
        [DrawnRow(SUCH, _said(first, unit), note=WHATEVER, mark=_plate(scale, first, between=True))] if before else []
    )
    climbed, _ = _climb(scale, before, first, unit)
    rows += [
        *climbed,
        DrawnRow("Expected", _said(expected, unit), note=notes[0], mark=_expected(scale, expected, before)),
    ]
    climbed, reached = _climb(scale, ordered, expected, unit)
    mark = _plate(scale, reached, between=True)
    rows += [*climbed, DrawnRow("Replay", _said(reached, unit), note=notes[1], mark=mark)]
    climbed, _ = _climb(scale, last, reached, unit, last[-1])
    rows += [*climbed, DrawnRow("Actual", _said(actual, unit), note=notes[2], mark=_ring(scale, actual))]
    tile = tag("svg", hatch("ladder-hatch"), width=0, height=0, class_="pl-tiles", aria_hidden="true")
    return tile + drawn_table(rows, heads=HEADS, scale=scale, first="cause", name="From expected to actual", said=WORDS)


def _said(value: float, unit: str) -> tuple[str, ...]:
    return (amount(value, unit, 1), "", "", "")


def _climb(
    scale: Scale, rungs: Sequence[Rung], start: float, unit: str, hatched: Rung | None = None
) -> tuple[list[DrawnRow], float]:
    """Return the rows of rungs that begin where the last one ended, and where they end."""
    rows, reached = [], start
    for rung in rungs:
        mark = rung_mark(scale, reached, rung, unexplained=rung is hatched)
        rows.append(DrawnRow(rung.cause, _cells(rung, unit), note=rung.station, mark=mark))
        reached += rung.tonnes
    return rows, reached
