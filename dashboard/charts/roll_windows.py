"""Each coming roll change in a lane of its own: what it costs at any time, its window, and a thumb that moves it.

The thumb is a range input over the lane's time, so mouse, finger and arrow keys move it; what is said at each place
travels with the lane, so that moving asks no server (`assets/rolls.js`).
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from dashboard.charts.axes import Upright, percent
from dashboard.charts.svg import number, picture, tag, text, words
from dashboard.charts.timeline import HOUR, Span, now_line

TOP, FLOOR, HEIGHT = 6.0, 64.0, 92.0
HEAD = 22.0
LEAST = 1.0
"""The least height of the scale, in the unit of the prices."""
ROOM = 0.14
PHONE_ROOM = 0.33
"""The share of the width that words beside a curve need."""
LIMIT_OFF = 10.0
"""How far behind the last allowed time its bar stands, so that the wedge of the best time can be seen. [px]"""
AROUND = 4 * HOUR
"""How far outside its window a change's price must fit on the scale. [s]"""


@dataclass(frozen=True)
class Step:
    """One time at which a change can be made: from the start of the span [s], its price (None: not allowed), words."""

    at: float
    price: float | None
    said: str


@dataclass(frozen=True)
class Lane:
    """One coming change.

    `when` tells the window in words, `early` and `late` the price of a half hour outside of it; times are from the
    start of the span [s]. `steps` are in order of time; `shut` tells that no change may be later than the last of them.
    """

    title: str
    when: str
    earliest: float
    best: float
    latest: float
    early: str
    late: str
    steps: tuple[Step, ...]
    shut: bool = False

    @property
    def start(self) -> float:
        """First time at which the change can be [s]."""
        return self.steps[0].at

    @property
    def end(self) -> float:
        """Last time at which the change can be [s]."""
        return self.steps[-1].at

    def at_best(self) -> int:
        """Return the step that lies nearest to the best time."""
        return min(range(len(self.steps)), key=lambda place: abs(self.steps[place].at - self.best))


def scale_of(lanes: Sequence[Lane]) -> Upright:
    """Return one scale for all lanes: it shows what a change costs up to four hours outside its window."""
    near = [
        step.price
        for lane in lanes
        for step in lane.steps
        if step.price is not None and lane.earliest - AROUND <= step.at <= lane.latest + AROUND
    ]
    return Upright(max([LEAST, *near]), top=TOP, floor_y=FLOOR)


def price_lanes(lanes: Sequence[Lane], span: Span, *, unit: str = "t", name: str = "The coming windows") -> str:
    """Return the lanes below one another on one axis of time; on a phone each lane has its own."""
    scale = scale_of(lanes)
    head = tag(
        "div",
        tag("div"),
        tag("div", _axis_head(unit), _times(span), class_="roll-plot"),
        class_="roll-lane roll-head pl-wide",
        aria_hidden="true",
    )
    made = "".join(_lane(lane, scale, span, place) for place, lane in enumerate(lanes))
    return tag("div", head, made, class_="pl-chart roll-lanes", role="group", aria_label=name)


def _axis_head(unit: str) -> str:
    said = text(40, 13, f"{unit} lost", "pl-axis pl-end")
    return tag("svg", said, width=48, height=HEAD, class_="roll-axis", aria_hidden="true")


def _times(span: Span) -> str:
    """Return the days and every sixth hour."""
    made = ""
    for time, said, named in moments(span):
        made += text(span.x(time), 13, said, f"pl-axis{'' if named else ' pl-middle'}", dx=5 if named else 0)
    return tag("svg", made, _flag(span), width="100%", height=HEAD, class_="pl-area", aria_hidden="true")


def _flag(span: Span) -> str:
    return "" if span.now is None else now_line(Span(span.length, span.days, span.now), HEAD)


def moments(span: Span) -> list[tuple[float, str, bool]]:
    """Return the times that are named: from the start [s], the word, whether it is a day."""
    found = []
    for day in span.days:
        marks = [(h * HOUR - day.clock_s, f"{h:02d}" if h in span.named_hours() else "", False) for h in (6, 12, 18)]
        if day.label:
            marks.insert(0, (0.0, day.label, True))
        found += [(day.start_s + off, said, named) for off, said, named in marks if off >= 0]
    return [one for one in found if one[0] <= span.length]


def _rules(span: Span) -> str:
    """Return the hairlines at the named times, and now."""
    made = ""
    for time, _, named in moments(span):
        class_ = "pl-day-line" if named else "pl-grid-line"
        made += tag("line", x1=span.x(time), x2=span.x(time), y1=0, y2=FLOOR, class_=class_)
    if span.now is not None:
        made += tag("line", x1=span.x(span.now), x2=span.x(span.now), y1=0, y2=FLOOR, class_="pl-cursor-line")
    return made


def _lane(lane: Lane, scale: Upright, span: Span, place: int) -> str:
    """Return one lane: its words, its drawing on the common time, and the one for phones on its own time."""
    best = lane.at_best()
    named = f"Back to best: {lane.title}, {lane.when}"
    back = tag("button", "Back to best", type="button", class_="small roll-back", aria_label=named, hidden="hidden")
    told = tag(
        "div",
        tag("div", tag("span", words(lane.title), class_="roll-title"), back, class_="roll-top"),
        tag("div", words(lane.when), class_="roll-when"),
        tag("output", words(lane.steps[best].said), class_="roll-said"),
        class_="roll-words",
    )
    own = Span(max(lane.end - lane.start, 1.0), ())
    wide = tag("div", _axis(scale), _plot(lane, scale, span, 0.0), class_="roll-plot pl-wide")
    phone = tag("div", _plot(lane, scale, own, lane.start, PHONE_ROOM), class_="roll-plot pl-phone")
    return tag(
        "div", told, tag("div", wide, phone), class_="roll-lane", data_lane=str(place), data_steps=_packed(lane, scale)
    )


def _packed(lane: Lane, scale: Upright) -> str:
    """Return what the script needs: minutes, height of the price [px], words for each step, and which is the best."""
    rows = [[round(step.at / 60.0), round(_height(scale, step.price), 1), step.said] for step in lane.steps]
    return json.dumps({"best": lane.at_best(), "steps": rows}, separators=(",", ":"))


def _height(scale: Upright, price: float | None) -> float:
    """Return where a price lies [px]; what is beyond the scale or not allowed lies at its top."""
    return TOP if price is None else max(TOP, scale.y(price))


def _axis(scale: Upright) -> str:
    marks = [value for value in scale.ticks if value in (scale.ticks[0], scale.ticks[-1])]
    said = "".join(text(40, scale.y(value) + 4, number(value), "pl-axis pl-end") for value in marks)
    return tag("svg", said, width=48, height=HEIGHT, class_="roll-axis", aria_hidden="true")


def _plot(lane: Lane, scale: Upright, span: Span, shift: float, room: float = ROOM) -> str:
    """Return the drawing of a lane on a time that begins `shift` after the span's own, with its thumb.

    `room` is what a price takes of the width.
    """
    ground = tag("line", class_="pl-ground", x1=0, x2="100%", y1=FLOOR, y2=FLOOR)
    parts = [_rules(span), _curve(lane, scale, span, shift), ground, _floor(lane, span, shift)]
    parts += [_prices(lane, scale, span, shift, room), _best(lane, span, shift), _here(lane, scale, span, shift)]
    drawn = picture(f"{lane.title}: {lane.when}", *parts, width="100%", height=HEIGHT, class_="pl-area")
    return tag("div", drawn, _thumb(lane, span, shift), class_="roll-area")


def _curve(lane: Lane, scale: Upright, span: Span, shift: float) -> str:
    """Return the price over time as an area with an edge; times that are not allowed are left out."""
    made = ""
    for allowed, group in groupby(lane.steps, key=lambda step: step.price is not None):
        spots = [(step.at - shift, scale.y(step.price)) for step in group if step.price is not None]
        if not allowed or len(spots) < 2:
            continue
        path = "M" + "L".join(f"{number(x, 0)} {number(y, 1)}" for x, y in spots)
        ends = f"{path}L{number(spots[-1][0], 0)} {number(FLOOR)}L{number(spots[0][0], 0)} {number(FLOOR)}Z"
        made += tag("path", d=ends, class_="pl-wall") + tag("path", d=path, class_="pl-wall-edge")
    box = f"0 0 {number(span.length)} {number(FLOOR)}"
    return tag("svg", made, viewBox=box, width="100%", height=FLOOR, preserveAspectRatio="none", overflow="hidden")


def _floor(lane: Lane, span: Span, shift: float) -> str:
    width = percent(100.0 * max(lane.latest - lane.earliest, 0.0) / span.length)
    return tag("rect", class_="pl-ink roll-floor", x=span.x(lane.earliest - shift), y=FLOOR - 6, width=width, height=6)


def _prices(lane: Lane, scale: Upright, span: Span, shift: float, room: float) -> str:
    """Return the price of a half hour beside the curve on either side, where there is room; and where it is shut."""
    made = ""
    for said, early in ((lane.early, True), (lane.late, False)):
        at, end = _leaves(lane, scale, early), lane.start if early else lane.end
        at = end if abs(end - at) < room * span.length else at
        left = (at - shift) / span.length
        if said and at != lane.best and (left if early else 1.0 - left) > room:
            side = f"pl-text{' pl-end' if early else ''}{' pl-halo' if at == end else ''}"
            made += text(span.x(at - shift), TOP + 14, said, side, dx=-8 if early else 8)
    if lane.shut:
        bar = tag("path", d=f"M{number(LIMIT_OFF)} {number(FLOOR - 26)}V{number(FLOOR)}", class_="roll-limit")
        made += tag("svg", bar, x=span.x(lane.end - shift), overflow="visible")
    return made


def _leaves(lane: Lane, scale: Upright, early: bool) -> float:
    """Return where the curve leaves the scale, seen from the best time, else the lane's end [s]."""
    own = [step for step in lane.steps if (step.at <= lane.best if early else step.at >= lane.best)]
    risen = [step.at for step in own if step.price is None or scale.y(step.price) <= TOP]
    if risen:
        return risen[-1] if early else risen[0]
    return own[0 if early else -1].at if own else lane.best


def _best(lane: Lane, span: Span, shift: float) -> str:
    wedge = tag("path", d=f"M-6 {number(FLOOR - 18)}h12l-6 11z", class_="pl-wedge")
    return tag("svg", wedge, x=span.x(lane.best - shift), overflow="visible")


def _here(lane: Lane, scale: Upright, span: Span, shift: float) -> str:
    """Return the mark that goes with the thumb: from the ground to the price."""
    step = lane.steps[lane.at_best()]
    y = _height(scale, step.price)
    line = tag("line", class_="pl-cursor-line", x1=0, x2=0, y1=number(y, 1), y2=FLOOR + 6)
    dot = tag("circle", class_="roll-dot", cx=0, cy=number(y, 1), r=3.5)
    return tag("svg", line, dot, x=span.x(step.at - shift), overflow="visible", class_="roll-here", hidden="hidden")


def _thumb(lane: Lane, span: Span, shift: float) -> str:
    """Return the range input over the lane's own time; its ends stand out by half a thumb, to meet the time."""
    if len(lane.steps) == 1:
        return ""
    left, wide = 100.0 * (lane.start - shift) / span.length, 100.0 * (lane.end - lane.start) / span.length
    low, high = (round(step.at / 60.0) for step in (lane.steps[0], lane.steps[-1]))
    place = lane.at_best()
    return tag(
        "input",
        type="range",
        class_="roll-dial",
        min=low,
        max=max(high, low + 1),
        step=1,
        value=round(lane.steps[place].at / 60.0),
        aria_label=f"{lane.title}, {lane.when}: move the change",
        aria_valuetext=lane.steps[place].said,
        style=f"--left:{percent(left)};--wide:{percent(wide)};--ground:{number(FLOOR)}px",
        data_length=number(span.length / 60.0),
        data_shift=number(shift / 60.0),
    )
