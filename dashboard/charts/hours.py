"""The hours of each station: one bar a station, its states one after the other."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from dashboard.charts.axes import percent
from dashboard.charts.states import LOOKS, css, face, letter, patterns
from dashboard.charts.svg import figure, number, picture, table, tag, text, words

ORDER = ("running", "setup", "changing_rolls", "waiting", "blocked", "starved", "down")
BAR, PITCH, FOLD = 20.0, 31.0, 50.0
WIDE_PX, PHONE_PX = 488.0, 350.0


@dataclass(frozen=True)
class HoursRow:
    """The hours a station spends in each state, of the hours that are drawn; what is missing is closed."""

    title: str
    hours: Mapping[str, float]


def _piece(key: str, state: str, start: float, hours: float, length: float, pixels: float, y: float) -> str:
    wide = hours / length * pixels
    inner = face(key, state, "100%", BAR)
    if state == "running":
        said = f"{figure(hours)} h running" if wide > 124 else f"{figure(hours)} h" if wide > 52 else ""
        inner += text(6, 14.5, said, "pl-in-bar") if said else ""
    elif wide >= 15 and LOOKS[state].letter:
        inner += tag("svg", letter(state, 0, BAR), x="50%", overflow="visible")
    place = {"x": percent(100.0 * start / length), "width": percent(100.0 * hours / length)}
    return tag("svg", inner, class_=f"pl-piece {css(state)}", y=y - BAR / 2, height=BAR, **place)


def _bar(key: str, row: HoursRow, length: float, pixels: float, y: float) -> str:
    made = tag("line", class_="pl-closed-line", x1=0, x2="100%", y1=y, y2=y)
    start = 0.0
    for state in ORDER:
        hours = row.hours.get(state, 0.0)
        if hours / length * pixels >= 0.4:
            made += _piece(key, state, start, hours, length, pixels, y)
        start += hours
    return made


def _scale(length: float, y: float, step: float) -> str:
    made = ""
    marks = [step * i for i in range(int(length / step + 1e-9) + 1)]
    for hour in marks:
        last = hour == marks[-1] and length - hour < 1e-6
        class_ = "pl-axis" if hour == 0 else "pl-axis pl-end" if last else "pl-axis pl-middle"
        made += text(percent(100.0 * hour / length), y, f"{number(hour)} h" if last else number(hour), class_)
    return made


def station_hours(
    rows: Sequence[HoursRow], *, length_h: float = 168.0, step_h: float = 24.0, key: str = "hours", name: str = ""
) -> str:
    """Return the bars for wide pages and for phones, with the same hours as a table."""
    called = name or f"Hours of each station, of {number(length_h)} h"
    ys = [BAR / 2 + 1 + PITCH * i for i in range(len(rows))]
    height = PITCH * len(rows) + 16
    bars = (_bar(f"{key}-wide", row, length_h, WIDE_PX, y) for row, y in zip(rows, ys, strict=True))
    wide = [patterns(f"{key}-wide"), *bars]
    wide.append(_scale(length_h, height - 4, step_h))
    names = "".join(tag("div", words(row.title), class_="pl-hours-name") for row in rows)
    drawn = picture(called, *wide, width="100%", height=height, class_="pl-area")
    grid = tag("div", tag("div", names), drawn, class_="pl-wide pl-hours-grid")
    phone = _phone(rows, length_h, step_h, f"{key}-phone", called)
    return tag("div", grid, phone, _table(rows, called), class_="pl-chart")


def _phone(rows: Sequence[HoursRow], length_h: float, step_h: float, key: str, called: str) -> str:
    body = [patterns(key)]
    for i, row in enumerate(rows):
        body.append(text(0, FOLD * i + 14, row.title, "pl-name"))
        body.append(_bar(key, row, length_h, PHONE_PX, FOLD * i + 31))
    height = FOLD * len(rows) + 18
    body.append(_scale(length_h, height - 4, step_h))
    return tag("div", picture(called, *body, width="100%", height=height, class_="pl-area"), class_="pl-phone")


def _table(rows: Sequence[HoursRow], called: str) -> str:
    shown = [state for state in ORDER if any(row.hours.get(state, 0.0) > 0 for row in rows)]
    body = [(row.title, *(f"{row.hours.get(state, 0.0):.1f} h" for state in shown)) for row in rows]
    return table(called, ("station", *(LOOKS[state].word for state in shown)), body)
