"""All drawings on one page, to be looked at: `python tests/dashboard/gallery.py OUT.html [dark]`."""

import json
import sys
from html import escape
from pathlib import Path

from charts_example import PLANT, week

from dashboard.charts.changes import RollChange, roll_changes
from dashboard.charts.days import DayBar, day_bars
from dashboard.charts.drawn import DrawnRow, drawn_table, scale_for
from dashboard.charts.flow import flow_drawing
from dashboard.charts.hours import HoursRow, station_hours
from dashboard.charts.levels import store_levels
from dashboard.charts.moments import empty_rack, old_answer, winding_coil
from dashboard.charts.player import play_bar
from dashboard.charts.sets import RollSet, roll_sets
from dashboard.charts.states import legend
from dashboard.charts.strips import rows_from, week_strips

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
        ("Other moments", empty_rack() + "".join(winding_coil(i / 8, count=f"{i}/8") for i in range(9)) + old_answer()),
    ]
    half = {"Good tonnes a day", "Coils in the stores", "Roll changes this week", "Hours of each station"}
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
