"""The week as strips: one strip a machine along time, and under them the line that shows what limits."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from dashboard.charts.labels import ROLL_SHOP
from dashboard.charts.moment import time_text
from dashboard.charts.pieces import LETTER_PX, Piece, hours_of, pieces, visible
from dashboard.charts.plant import titled
from dashboard.charts.states import LOOKS, css, face, letter, patterns
from dashboard.charts.svg import group, number, picture, table, tag, text, text_width, words
from dashboard.charts.week import Week

HEAD, PITCH, HEIGHT, SLOW = 28.0, 36.0, 18.0, 8.0
FOLD = 50.0
BAR_PX = 78.0
WIDE_PX, DAY_PX = 896.0, 350.0
"""Widths of the strips for which the smallest pieces and letters are chosen. [px]"""
DAY_S = 86400.0


@dataclass(frozen=True)
class StripRow:
    """One strip: its name, which machine of the packed week it shows, under which name it may limit the line.

    `share` is the share of time as the limit in words; `bar` is its mean and the ends of its interval, from 0 to 1.
    """

    title: str
    machine: int
    limit: str = ""
    share: str = ""
    bar: tuple[float, float, float] | None = None


def rows_from(
    week: Week,
    *,
    titles: Mapping[str, str] | None = None,
    shares: Mapping[str, tuple[str, tuple[float, float, float]]] | None = None,
) -> list[StripRow]:
    """Return one row a machine of the packed week, in its order; shares belong to the first machine of a station."""
    stations = [machine["station"] for machine in week["machines"]]
    rows = []
    for i, machine in enumerate(week["machines"]):
        name = machine["station"]
        title = (titles or {}).get(name, "Roll shop" if name.endswith(ROLL_SHOP) else titled(name))
        several = f" {machine['number']}" if stations.count(name) > 1 else ""
        share, bar = ("", None) if stations.index(name) != i else (shares or {}).get(name, ("", None))
        rows.append(StripRow(title + several, i, name if stations.index(name) == i else "", share, bar))
    return rows


def percent(time: float, length: float) -> str:
    """Return a time as a share of the width."""
    return f"{number(100.0 * time / length, 4)}%"


def drawn_piece(key: str, piece: Piece, y: float, length: float, pixel_s: float) -> str:
    """Return one piece of a strip whose middle is at y; its pattern starts at its own corner."""
    x, width = percent(piece.start, length), percent(piece.length, length)
    if piece.state == "closed":
        return ""
    wide = piece.length / pixel_s
    height = SLOW if piece.slowed else HEIGHT
    if piece.state in ("running", "starved") and (wide < LETTER_PX or piece.state == "running"):
        return tag("rect", class_=css(piece.state), x=x, y=y - height / 2, width=width, height=height)
    inner = face(key, piece.state, "100%", HEIGHT)
    if wide >= LETTER_PX and LOOKS[piece.state].letter:
        inner += tag("svg", letter(piece.state, 0, HEIGHT), x="50%", overflow="visible")
    return tag("svg", inner, class_=f"pl-piece {css(piece.state)}", x=x, y=y - HEIGHT / 2, width=width, height=HEIGHT)


def strip_row(key: str, week: Week, row: StripRow, y: float, pixel_s: float) -> str:
    """Return the strip of one machine on its hairline."""
    seen = visible(pieces(week, row.machine), pixel_s)
    # what must stay visible although it is short is drawn last, over its neighbours
    seen.sort(key=lambda piece: -piece.length)
    base = tag("line", class_="pl-closed-line", x1=0, x2="100%", y1=y, y2=y)
    return base + "".join(drawn_piece(key, piece, y, float(week["length"]), pixel_s) for piece in seen)


def limit_path(week: Week, rows: Sequence[StripRow], y_of: Sequence[float]) -> tuple[str, str]:
    """Return the level and the upright parts of the line that runs under the strip of what limits."""
    by_name = {row.limit: y for row, y in zip(rows, y_of, strict=True) if row.limit}
    limits = week["limits"]
    level, upright = "", ""
    last: float | None = None
    for i, start in enumerate(limits["t"]):
        end = limits["t"][i + 1] if i + 1 < len(limits["t"]) else week["length"]
        name = limits["names"][limits["v"][i]] if limits["v"][i] >= 0 else ""
        y = by_name.get(name)
        if y is not None:
            level += f"M{start} {number(y)}H{end}"
            if last is not None and last != y:
                upright += f"M{start} {number(min(last, y) - 2)}V{number(max(last, y) + 2)}"
        last = y
    return level, upright


def limit_line(week: Week, rows: Sequence[StripRow], y_of: Sequence[float], height: float) -> str:
    """Return the line of what limits, stretched over the width without growing thicker."""
    level, upright = limit_path(week, rows, y_of)
    if not level:
        return ""
    made = tag("path", d=level, class_="pl-limits-level") + tag("path", d=upright, class_="pl-limits-upright")
    box = f"0 0 {week['length']} {number(height)}"
    return tag("svg", made, viewBox=box, width="100%", height=height, preserveAspectRatio="none")


def cursor(week: Week, at_s: float, height: float, flag: bool) -> str:
    """Return the line at the time that is shown, with the time in a flag or only a mark on top."""
    body = tag("path", d=f"M0 18V{number(height)}", class_="pl-cursor-line")
    mark = tag("path", d="M-6 17H6L0 24Z", class_="pl-wedge")
    said = ""
    if flag:
        box = tag("rect", class_="pl-flag", x=-35, y=1, width=70, height=17)
        said = box + text(0, 13.5, time_text(week, at_s), "pl-flag-text")
    x = percent(at_s, float(week["length"]))
    return tag("svg", body, mark, said, class_="pl-cursor", x=x, overflow="visible")


def day_lines(week: Week, height: float, at_s: float | None) -> str:
    """Return a line at the start of each day with its name, except where the flag of the time stands."""
    made = []
    named = [day for day in week["days"] if day["label"]]
    for i, day in enumerate(named):
        after = named[i + 1]["t"] if i + 1 < len(named) else week["length"]
        hidden = at_s is not None and -36.0 < (at_s - day["t"]) / week["length"] * WIDE_PX < 102.0
        class_ = "pl-axis pl-day-name" + (" pl-under-flag" if hidden else "")
        label = text(4, 13, day["label"], class_) if (after - day["t"]) / week["length"] * WIDE_PX > 50 else ""
        rule = tag("path", d=f"M0.5 20V{number(height)}", class_="pl-grid-line")
        made.append(tag("svg", rule, label, x=percent(day["t"], week["length"]), overflow="visible", data_t=day["t"]))
    end = tag("line", x1="100%", x2="100%", y1=20, y2=height, class_="pl-grid-line")
    return "".join(made) + end


def share_bar(row: StripRow, y: float, right: float) -> str:
    """Return the share of time a row limits: ink to the mean, its interval in metal, the words up to the right."""
    said = text(right, y + 5, row.share, "pl-text pl-end" if row.bar and row.bar[0] else "pl-second pl-end")
    if row.bar is None:
        return said
    mean, low, high = (BAR_PX * min(1.0, max(0.0, part)) for part in row.bar)
    base = tag("rect", class_="pl-pale", x=12, y=y - 4, width=BAR_PX, height=8)
    span = tag("rect", class_="pl-span", x=12 + low, y=y - 4, width=high - low, height=8) if high > low else ""
    ends = f"M{number(12 + low)} {number(y - 6)}v12M{number(12 + high)} {number(y - 6)}v12"
    ink = tag("rect", class_="pl-ink", x=12, y=y - 4, width=max(mean, 1.0 if row.bar[0] else 0.0), height=8)
    return base + span + ink + (tag("path", d=ends, class_="pl-span-ends") if high > low else "") + said


def _wide(rows: Sequence[StripRow], week: Week, at_s: float | None, name: str, head: str) -> str:
    height = HEAD + PITCH * len(rows)
    middles = [HEAD + PITCH * (i + 0.5) for i in range(len(rows))]
    key = f"{week['key']}-strips"
    pixel = week["length"] / WIDE_PX
    body = [patterns(key), day_lines(week, height, at_s)]
    body += [strip_row(key, week, row, y, pixel) for row, y in zip(rows, middles, strict=True)]
    body.append(limit_line(week, rows, [y + 13.5 for y in middles], height))
    body.append(cursor(week, at_s, height + 4, flag=True) if at_s is not None else "")
    plot = picture(name, *body, width="100%", height=height, class_="pl-strip-plot", overflow="visible")
    names = "".join(tag("div", words(row.title), class_="pl-strip-name") for row in rows)
    shares = ""
    if any(row.share for row in rows):
        right = max(164.0, 12 + BAR_PX + 10 + max(text_width(row.share) for row in rows))
        drawn = text(right, 13, head, "pl-axis pl-end")
        drawn += "".join(share_bar(row, y, right) for row, y in zip(rows, middles, strict=True))
        shares = tag("svg", drawn, width=right, height=height, aria_hidden="true")
    return tag("div", tag("div", names, class_="pl-strip-names"), plot, shares, class_="pl-wide pl-strip-grid")


def _hours(week: Week, height: float) -> str:
    """Return the hours of every day for the phone, which shows one day at a time."""
    made = []
    for day in week["days"]:
        if not day["label"]:
            continue
        short = " ".join(day["label"].split()[:2])
        marks = [(0.0, short)] + [(h * 3600.0 - day["clock"], f"{h:02d}") for h in (6, 9, 12, 15, 18, 21)]
        for offset, said in marks:
            if offset < 0:
                continue
            start = offset == 0 and said == short
            rule = tag("path", d=f"M0.5 20V{number(height)}", class_="pl-grid-line")
            label = text(0, 13, said, "pl-axis" if start else "pl-axis pl-middle")
            made.append(tag("svg", rule, label, x=percent(day["t"] + offset, week["length"]), overflow="visible"))
    return "".join(made)


def day_shift(week: Week, at_s: float) -> str:
    """Return by how much the week is moved to the left so that the day of a time fills the phone's width."""
    starts = [day["t"] for day in week["days"] if day["label"] and day["t"] <= at_s]
    return f"{number(-100.0 * max(starts, default=0) / DAY_S, 4)}%"


def _fold_label(row: StripRow, y: float) -> str:
    share = f"limits {row.share}" if row.share else ""
    return text(0, y + 16, row.title, "pl-name") + text("100%", y + 16, share, "pl-second pl-end")


def _phone(rows: Sequence[StripRow], week: Week, at_s: float | None, name: str) -> str:
    height = HEAD + FOLD * len(rows) + 4
    tops = [HEAD + FOLD * i - 4 for i in range(len(rows))]
    key = f"{week['key']}-folds"
    pixel = DAY_S / DAY_PX
    inner = [_hours(week, height)]
    inner += [strip_row(key, week, row, top + 31, pixel) for row, top in zip(rows, tops, strict=True)]
    inner.append(limit_line(week, rows, [top + 44.5 for top in tops], height))
    inner.append(cursor(week, at_s, height, flag=False) if at_s is not None else "")
    width = f"{number(100.0 * week['length'] / DAY_S, 4)}%"
    moved_week = tag("svg", *inner, class_="pl-days", x=day_shift(week, at_s or 0.0), width=width, height=height)
    labels = group(*map(_fold_label, rows, tops))
    plot = picture(name, patterns(key), moved_week, labels, width="100%", height=height, class_="pl-strip-plot")
    return tag("div", plot, class_="pl-phone")


def strips_table(rows: Sequence[StripRow], week: Week, name: str) -> str:
    """Return the hours of each state, machine by machine."""
    states = [state for state in LOOKS if any(state in hours_of(pieces(week, row.machine)) for row in rows)]
    body = []
    for row in rows:
        hours = hours_of(pieces(week, row.machine))
        body.append((row.title, *(f"{hours.get(state, 0.0):.1f} h" for state in states), row.share))
    return table(name, ("machine", *(LOOKS[state].word for state in states), "limits"), body)


def week_strips(
    rows: Sequence[StripRow],
    week: Week,
    *,
    at_s: float | None = None,
    head: str = "limits, share of the week",
    name: str = "The week: what each machine does, hour by hour",
) -> str:
    """Return the strips for wide pages and for phones, with the hours of each state as a table.

    With a time there is a cursor, which the playing script of the page moves.
    """
    made = (_wide(rows, week, at_s, name, head), _phone(rows, week, at_s, name), strips_table(rows, week, name))
    return tag("div", *made, class_="pl-strips", data_play=week["key"] if at_s is not None else None)
