"""A few days along time: the windows of the coming roll changes with their price, and the roll sets."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from dashboard.charts.axes import Upright, percent
from dashboard.charts.states import LOOKS, css, face, letter, patterns
from dashboard.charts.svg import NO_BREAK, number, picture, table, tag, text, words
from dashboard.charts.week import Day

HALF_HOUR = 1800.0
HOUR = 3600.0
WALL_H = 3.5
TOP, FLOOR, HEIGHT = 52.0, 176.0, 222.0
WIDE_PX = 1072.0
PHONE_S = 36 * HOUR
"""How much of it a phone shows. [s]"""
CROWDED_S = 80 * HOUR
"""From this length on six in the morning is not named: the day's own name stands there. [s]"""


@dataclass(frozen=True)
class Span:
    """The days that are drawn: their length, the local days in them, and now, all from the start [s]."""

    length: float
    days: Sequence[Day]
    now: float | None = None

    def x(self, time: float) -> str:
        """Return a time as a share of the width."""
        return percent(100.0 * time / self.length)

    def named_hours(self) -> tuple[int, ...]:
        """Return the hours of a day that are named along the top."""
        return (12, 18) if self.length > CROWDED_S else (6, 12, 18)

    def clock(self, time: float) -> str:
        """Return the time of day at a time."""
        day = [day for day in self.days if day.start_s <= time] or [self.days[0]]
        minutes = int((day[-1].clock_s + time - day[-1].start_s + 30) // 60) % 1440
        return f"{minutes // 60:02d}:{minutes % 60:02d}"


@dataclass(frozen=True)
class Window:
    """One coming change: earliest, best and latest time from the start [s], the price of a half hour outside [t]."""

    change: str
    earliest: float
    best: float
    latest: float
    early: float
    late: float


@dataclass(frozen=True)
class SetRow:
    """One roll set along time: starts and ends [s from the start], and what it does meanwhile."""

    title: str
    start_s: Sequence[float]
    end_s: Sequence[float]
    state: Sequence[str]


def hours(span: Span, height: float) -> str:
    """Return the days and every sixth hour along the top, with their lines."""
    made = []
    for day in span.days:
        if not day.label:
            continue
        marks = [(0.0, day.label)]
        marks += [(h * HOUR - day.clock_s, f"{h:02d}" if h in span.named_hours() else "") for h in (6, 12, 18)]
        for offset, said in marks:
            time = day.start_s + offset
            if offset < 0 or time > span.length:
                continue
            named = said == day.label
            rule = tag("path", d=f"M0.5 20V{number(height)}", class_="pl-day-line" if named else "pl-grid-line")
            label = text(5 if named else 0, 13, said, "pl-axis" if named else "pl-axis pl-middle pl-hour")
            made.append(tag("svg", rule, label, x=span.x(time), overflow="visible"))
    return "".join(made)


def now_line(span: Span, height: float) -> str:
    """Return the line at now with its flag."""
    if span.now is None:
        return ""
    body = tag("path", d=f"M0 18V{number(height)}", class_="pl-cursor-line")
    flag = tag("rect", class_="pl-flag", x=-19, y=1, width=38, height=17) + text(0, 13.5, "now", "pl-flag-text")
    return tag("svg", body, flag, x=span.x(span.now), overflow="visible")


def tallest(windows: Sequence[Window]) -> float:
    """Return how high walls are drawn [t]: three hours at the second highest price, so that no wall dwarfs the rest."""
    prices = sorted(price for window in windows for price in (window.early, window.late))
    return 6.0 * prices[-2 if len(prices) > 2 else -1] if prices and prices[-1] > 0 else 1.0


def wall(window: Window, early: bool, now: float | None, cap: float) -> tuple[float, float]:
    """Return where a wall ends [s] and how high it is there [t]: it rises by the price of each half hour."""
    price = window.early if early else window.late
    reach = min(WALL_H * HOUR, cap / price * HALF_HOUR if price > 0 else WALL_H * HOUR)
    if early:
        end = min(window.earliest, max(window.earliest - reach, now or 0.0))
        return end, price * (window.earliest - end) / HALF_HOUR
    return window.latest + reach, price * reach / HALF_HOUR


def _walls(window: Window, scale: Upright, span: Span, cap: float) -> str:
    made = ""
    for early, foot, price in ((True, window.earliest, window.early), (False, window.latest, window.late)):
        end, tonnes = wall(window, early, span.now, cap)
        if end == foot:
            continue
        top = number(scale.y(tonnes), 1)
        box = f"0 0 {number(span.length)} {number(HEIGHT)}"
        path = f"M{number(foot)} {number(FLOOR)}L{number(end)} {top}"
        shape = tag("path", d=f"{path}V{number(FLOOR)}Z", class_="pl-wall") + tag("path", d=path, class_="pl-wall-edge")
        made += tag("svg", shape, viewBox=box, width="100%", height=HEIGHT, preserveAspectRatio="none")
        said = f"+{number(price, 1)}{NO_BREAK}t"
        made += text(span.x(end), scale.y(tonnes) - 8, said, "pl-second pl-middle pl-halo")
    return made


def _floor(window: Window, span: Span) -> str:
    width = percent(100.0 * (window.latest - window.earliest) / span.length)
    floor = tag("rect", class_="pl-ink", x=span.x(window.earliest), y=FLOOR - 7, width=width, height=7)
    best = tag("path", d=f"M-6 {number(FLOOR - 19)}h12l-6 11z", class_="pl-wedge")
    best += text(0, FLOOR - 24, span.clock(window.best), "pl-name pl-middle pl-halo")
    middle = span.x((window.earliest + window.latest) / 2)
    said = text(middle, FLOOR + 18, f"{span.clock(window.earliest)}–{span.clock(window.latest)}", "pl-text pl-middle")
    said += text(middle, FLOOR + 36, window.change, "pl-note pl-middle")
    return floor + tag("svg", best, x=span.x(window.best), overflow="visible") + said


def _axis(scale: Upright) -> str:
    said = (f"t lost {number(v)}" if v == scale.ticks[-1] else number(v) for v in scale.ticks)
    labels = (text(52, scale.y(v) + 4, shown, "pl-axis pl-end") for v, shown in zip(scale.ticks, said, strict=True))
    return tag("svg", *labels, width=58, height=HEIGHT, aria_hidden="true")


def folded(name: str, span: Span, height: float, wide: str, phone: str) -> str:
    """Return a plot for wide pages, and for phones its first day and a half at a width at which it can be read."""
    across = percent(100.0 * max(1.0, span.length / PHONE_S))
    inner = tag("svg", phone, width=across, height=height)
    drawn = picture(name, wide, width="100%", height=height, class_="pl-area pl-wide")
    part = picture(f"{name}, the first day and a half", inner, width="100%", height=height, class_="pl-phone")
    return tag("div", drawn, part)


def coming_windows(windows: Sequence[Window], span: Span, *, name: str = "The coming windows") -> str:
    """Return the windows: on the solid floor a change costs nothing more than itself, the walls show the price."""
    cap = tallest(windows)
    scale = Upright(cap * 1.1, top=TOP, floor_y=FLOOR)
    ground = tag("line", class_="pl-ground", x1=0, x2="100%", y1=FLOOR, y2=FLOOR)
    parts = [hours(span, FLOOR), *(_walls(window, scale, span, cap) for window in windows), ground]
    body = "".join([*parts, *(_floor(window, span) for window in windows), now_line(span, FLOOR)])
    plot = tag("div", _axis(scale), folded(name, span, HEIGHT, body, body), class_="pl-plot")
    return tag("div", plot, _windows_table(windows, span, name), class_="pl-chart")


def _windows_table(windows: Sequence[Window], span: Span, name: str) -> str:
    heads = ("change", "earliest", "best", "latest", "half hour early", "half hour late")
    rows = []
    for window in windows:
        times = (span.clock(time) for time in (window.earliest, window.best, window.latest))
        prices = (f"+{number(price, 1)} t" for price in (window.early, window.late))
        rows.append((window.change, *times, *prices))
    return table(name, heads, rows)


def _set_piece(key: str, span: Span, state: str, start: float, end: float, y: float) -> str:
    """Return a piece of a set's time; what is still to come is paler."""
    wide = (end - start) / span.length * WIDE_PX
    known = css(state)
    look = LOOKS[state]
    inner = face(key, state, "100%", 18)
    if state in ("on_mill", "ready") and wide > 90:
        inner += text(8, 13.5, look.word, "pl-in-bar")
    elif wide >= 15 and look.letter:
        inner += tag("svg", letter(state, 0, 18), x="50%", overflow="visible")
    later = " pl-later" if span.now is not None and start >= span.now else ""
    width = percent(100.0 * (end - start) / span.length)
    return tag("svg", inner, class_=f"pl-piece {known}{later}", x=span.x(start), y=y - 9, width=width, height=18)


def _set_row(key: str, span: Span, row: SetRow, y: float) -> str:
    """Return the strip of a set; the hairline goes on where nothing is done with it."""
    made, reached = "", 0.0
    for start, end, state in sorted(zip(row.start_s, row.end_s, row.state, strict=True)):
        begin, stop = max(0.0, start), min(span.length, end)
        if stop <= begin:
            continue
        made += _gap(span, reached, begin, y)
        now = [span.now] if span.now is not None and begin < span.now < stop else []
        cuts = [begin, *now, stop]
        made += "".join(_set_piece(key, span, state, left, right, y) for left, right in pairwise(cuts))
        reached = max(reached, stop)
    return made + _gap(span, reached, span.length, y)


def _gap(span: Span, start: float, end: float, y: float) -> str:
    if end <= start:
        return ""
    return tag("line", class_="pl-closed-line", x1=span.x(start), x2=span.x(end), y1=y, y2=y)


def _sets(
    key: str,
    rows: Sequence[SetRow],
    span: Span,
    height: float,
    states: tuple[str, ...],
    open_s: Sequence[tuple[float, float]],
) -> str:
    made = patterns(key, states) + hours(span, height)
    for start, end in open_s:
        width = percent(100.0 * (end - start) / span.length)
        made += tag("rect", class_="pl-strip", x=span.x(start), y=21, width=width, height=4)
    made += "".join(_set_row(key, span, row, 46.0 + 36.0 * i) for i, row in enumerate(rows))
    return made + now_line(span, height)


def sets_along(
    rows: Sequence[SetRow],
    span: Span,
    *,
    open_s: Sequence[tuple[float, float]] = (),
    name: str = "The roll sets along time",
) -> str:
    """Return the sets as strips: left of now as it happened, right of it as planned, paler.

    `open_s` are the hours of the roll shop, from the start of the span [s]: thin bars under the hours.
    """
    height = 28.0 + 36.0 * len(rows)
    states = tuple(state for state in LOOKS if any(state in row.state for row in rows))
    wide, phone = (_sets(key, rows, span, height, states, open_s) for key in ("sets-time", "sets-fold"))
    names = tag("div", *(tag("div", words(row.title), class_="pl-strip-name") for row in rows), class_="pl-strip-names")
    grid = tag("div", names, folded(name, span, height, wide, phone), class_="pl-sets-grid")
    heads = ("set", *(LOOKS[state].word for state in states))
    cells = [(row.title, *(f"{_hours_of(row, state):.1f} h" for state in states)) for row in rows]
    return tag("div", grid, table(name, heads, cells), class_="pl-strips")


def _hours_of(row: SetRow, state: str) -> float:
    spent = zip(row.start_s, row.end_s, row.state, strict=True)
    return sum(end - start for start, end, what in spent if what == state) / HOUR
