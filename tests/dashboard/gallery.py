"""All drawings on one page, to be looked at: `python tests/dashboard/gallery.py OUT.html [dark]`."""

import json
import sys
from dataclasses import replace
from html import escape
from itertools import pairwise
from math import exp
from pathlib import Path

from charts_example import DAYS, PLANT, week

from dashboard.charts.chances import Curve, Threshold, chance_curves, odds, rests_on, threshold
from dashboard.charts.changes import RollChange, roll_changes
from dashboard.charts.curve import Point, distance_curve
from dashboard.charts.day_band import DayAmong, day_among
from dashboard.charts.days import DayBar, day_bars
from dashboard.charts.drawn import DrawnRow, drawn_table, scale_for
from dashboard.charts.flow import flow_drawing
from dashboard.charts.hours import HoursRow, station_hours
from dashboard.charts.ladder import Rung, ladder
from dashboard.charts.levels import store_levels
from dashboard.charts.moments import empty_rack, old_answer, winding_coil
from dashboard.charts.player import play_bar
from dashboard.charts.roll_windows import Lane, Step, price_lanes
from dashboard.charts.sets import RollSet, roll_sets
from dashboard.charts.states import legend
from dashboard.charts.strips import rows_from, week_strips
from dashboard.charts.timeline import SetRow, Span, sets_along

ROOT = Path(__file__).parents[2]
ASSETS = ROOT / "dashboard" / "assets"


TITLES = {"sheet line": "Wide sheet line"}
SHARES = {
    "caster": ("2 ± 2 %", (0.02, 0.0, 0.04)),
    "mill": ("12 ± 5 %", (0.12, 0.07, 0.17)),
    "mill roll shop": ("31 ± 8 %", (0.31, 0.23, 0.39)),
    "slitter": ("55 ± 7 %", (0.55, 0.48, 0.62)),
    "gutter profiler": ("0 %", (0.0, 0.0, 0.0)),
    "pipe line": ("0 %", (0.0, 0.0, 0.0)),
}


DAY_BARS = [
    DayBar(name, made, *((124.0, 92.0, 158.0) if made else ()))
    for name, made in zip(
        ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"), (92.0, 159.0, 92.0, 158.0, 11.0, None, None), strict=True
    )
]
CHANGES = [
    RollChange("Mon 12:01", "set 3 → 4", "57.4 km", "planned", "31 min", "no wait", 57.4 / 57),
    RollChange("Tue 12:16", "set 5 → 1", "19.9 km", "damage", "1 h 41", "no wait", 19.9 / 57),
    RollChange("Thu 07:40", "set 3 → 4", "59.1 km", "planned", "28 min", "waited 1 h 20", 59.1 / 57),
]
HOURS = [
    HoursRow("Caster", {"running": 121, "blocked": 34, "setup": 8, "down": 5}),
    HoursRow("Mill", {"running": 82.7, "changing_rolls": 5.5, "waiting": 12.8, "blocked": 15.3, "down": 3.8}),
    HoursRow("Roll shop", {"running": 36.7}),
    HoursRow("Slitter", {"running": 51.5, "setup": 15.1, "waiting": 4.1, "down": 2.1, "starved": 0.5}),
    HoursRow("Gutter line", {"running": 53, "setup": 6.5, "down": 4.5, "starved": 9}),
]
HEADS = ("good t/week", "change", "people", "lead time h", "pays back, years")
OPTIONS = [
    DrawnRow("Today", ("619 ± 12", "–", "–", "73 ± 6", "–"), 619, 607, 631, "slitter 2 shifts, roll shop 1 shift"),
    DrawnRow("Second slitter", ("619 ± 16", "+0 ± 20", "+6", "29 ± 4", "never"), 619, 599, 639, "own crew, 2 shifts"),
    DrawnRow("Night shift + roll-shop shift", ("763 ± 9", "+144 ± 9", "+4", "35 ± 4", "0.3"), 763, 754, 772, "", True),
    DrawnRow("Second roll-shop shift", ("627 ± 11", "+8 ± 8", "+1", "84 ± 7", "never"), 627, 619, 635),
]
SETS = [
    RollSet(2, "on mill", "351.2 mm", "41 of 57 km", 41 / 57),
    RollSet(1, "waiting", "344.9 mm", "since Wed 11:30"),
    RollSet(5, "waiting", "338.6 mm", "damaged, Tue 12:16"),
    RollSet(4, "grinding", "347.0 mm", "until Wed 14:05"),
    RollSet(3, "ready", "349.8 mm", "heated, since 11:20"),
]


SPAN = Span(72 * 3600.0, DAYS[2:5], 12 * 3600.0)
SPAN = replace(SPAN, days=[replace(day, start_s=day.start_s - 2 * 86400.0) for day in SPAN.days])
LANES = [
    Lane(
        f"Set {2 + i} off, set {3 + i} on",
        "half a day around its window",
        best - 7200.0,
        best,
        best + 5400.0,
        "+0.3 t each ½ h",
        "+1.1 t each ½ h",
        tuple(
            Step(best + 900.0 * k, max(0.0, -0.15 * (k + 8), 0.55 * (k - 6)), f"{k / 4:+g} h from the best time")
            for k in range(-24, 25)
        ),
    )
    for i, best in enumerate((66_000.0, 118_800.0, 172_800.0))
]
SET_STATES = ("on_mill", "cooling", "waits_grinder", "grinding", "fitting", "heating", "ready")
CUTS = [0.0, 4, 14, 34, 37, 38.5, 56, 60, 72]
SET_ROWS = [
    SetRow(
        f"Set {i + 1}",
        [max(0.0, (cut - 9 * i) % 72) * 3600 for cut in CUTS[:-1]],
        [min(72.0, (cut - 9 * i) % 72 + after - cut) * 3600 for cut, after in pairwise(CUTS)],
        ["on_mill", "cooling", "waits_grinder", "grinding", "fitting", "ready", "heating", "on_mill"],
    )
    for i in range(5)
]
POINTS = [
    Point(x, mean, mean - 11, mean + 11)
    for x, mean in ((30, 541), (40, 560), (48, 584), (57, 619), (66, 628), (75, 627), (90, 628), (110, 624), (150, 604))
]
LAST_DAYS = [88, 92, 92, 103, 109, 111, 116, 118, 122, 127, 129, 131, 134, 136, 140, 145, 149, 158, 159, 171]
RUNGS = [
    Rung("Nine more coils ready at 06:00", "cooling store", 4.0, 1.5, 6.1),
    Rung("Pipe line ran faster than its standard", "pipe line", 2.2, 1.8, 2.6),
    Rung("Strip break, 11:40 to 13:45", "slitter", -11.8, -16.2, -7.4, "stops, row 31"),
    Rung("Two setups more than planned", "slitter", -6.9, -10.1, -3.0, "stops, rows 28 and 40"),
    Rung("Tool change took 35 min longer", "gutter line", -3.4, -4.6, -2.2, "stops, row 19"),
    Rung("No roll set ready for 1 h 40", "mill", -2.1, -6.0, 0.0, "rolls, row 7"),
]
ODDS = [
    ("Night shift + roll-shop shift", 20, 20),
    ("Second slitter + roll-shop shift", 18, 20),
    ("Second slitter", 0, 20),
]
YEARS = [i / 10 for i in range(81)]
CURVES = [
    Curve("night shift + roll-shop shift", YEARS, [1 / (1 + exp(-9 * (x - 0.5))) for x in YEARS]),
    Curve("second slitter + roll-shop shift", YEARS, [0.93 / (1 + exp(-2.4 * (x - 3.8))) for x in YEARS]),
    Curve("second slitter alone", YEARS, [0.0 for _ in YEARS]),
]
THRESHOLDS = [
    Threshold(
        "Runs get shorter.", "Below 3.4 coils a pattern the second machine pays.", 5.1, 3.4, "5.1 today", "3.4 coils"
    ),
    Threshold("Orders fall.", "Under 655 t/week no change pays.", 760, 655, "760 on the book", "655 t/week"),
]
RESTS = [("slitter setup", "48 min, 412 setups", True), ("a second crew can be found", "6 people", False)]


def page(dark: bool) -> str:
    packed = week()
    at = 56.67 * 3600
    rows = rows_from(packed, titles=TITLES, shares=SHARES)
    stores = ["cooling store", "cast coils"]
    parts = [
        ("The line", flow_drawing(PLANT, packed, at) + play_bar(packed, at)),
        ("The week", week_strips(rows, packed, at_s=at) + legend()),
        ("Good tonnes a day", day_bars(DAY_BARS)),
        ("Coils in the stores", store_levels(packed, stores, titles={"cast coils": "Cast store"})),
        ("Roll changes this week", roll_changes(CHANGES)),
        ("Hours of each station", station_hours(HOURS)),
        ("Today and the ways to change it", drawn_table(OPTIONS, heads=HEADS, scale=scale_for(OPTIONS, today=619))),
        ("Where the sets are", roll_sets(SETS)),
        ("The coming windows", price_lanes(LANES, SPAN)),
        (
            "The sets along time",
            sets_along(SET_ROWS, SPAN) + legend(SET_STATES, slowed=False, limits=False, key="sets"),
        ),
        ("How far should a set run?", distance_curve(POINTS, today=57, flat=(57, 110))),
        ("Yesterday among the last days", day_among(DayAmong(96, 124, (82, 166), LAST_DAYS))),
        ("From expected to actual", ladder(124, 96, RUNGS, -10.0)),
        ("How likely is it to pay back?", odds(ODDS)),
        ("Chances by years", chance_curves(CURVES, years=8)),
        ("It stops being true if ...", "".join(threshold(one, f"gate{i}") for i, one in enumerate(THRESHOLDS))),
        ("What this rests on", rests_on(RESTS)),
        ("Other moments", empty_rack() + "".join(winding_coil(i / 8, count=f"{i}/8") for i in range(9)) + old_answer()),
    ]
    half = {"How far should a set run?", "How likely is it to pay back?", "Chances by years", "What this rests on"}
    half |= {
        "It stops being true if ...",
        "Good tonnes a day",
        "Coils in the stores",
        "Roll changes this week",
        "Hours of each station",
    }
    body = "".join(
        f'<section class="{"half" if name in half else "all"}"><h2>{name}</h2>'
        f'<div data-drawing="{escape(drawn)}"></div></section>'
        for name, drawn in parts
    )
    body += f'<div hidden data-week="{escape(json.dumps(packed))}"></div>'
    scripts = "".join(f'<script src="{(ASSETS / name).as_uri()}"></script>' for name in ("drawings.js", "line.js"))
    sheets = ("tokens.css", "drawings.css")
    styles = "".join(f'<link rel="stylesheet" href="{(ASSETS / name).as_uri()}">' for name in sheets)
    own = (
        "body{margin:0 auto;max-width:1200px;padding:0 var(--side);background:var(--paper);color:var(--ink);"
        "font:14px/20px var(--face)}h2{font-size:17px;line-height:24px;font-weight:640}"
        "main{display:grid;grid-template-columns:minmax(0,1fr) minmax(0,1fr);column-gap:48px}"
        "section{margin-bottom:36px;grid-column:1/3;min-width:0}"
        "@media(min-width:761px){.half{grid-column:auto}}"
    )
    theme = ' data-theme="dark"' if dark else ""
    head = '<meta charset="utf-8"><meta name="viewport" content="width=device-width"><title>Drawings</title>'
    head = f"<head>{head}{styles}<style>{own}</style></head>"
    return f'<!doctype html><html lang="en"{theme}>{head}<body><main>{body}</main>{scripts}</body></html>'


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(page("dark" in sys.argv[2:]), encoding="utf-8")
