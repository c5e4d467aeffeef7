"""All drawings on one page, to be looked at: `python tests/dashboard/gallery.py OUT.html [dark]`."""

import sys
from pathlib import Path

from charts_example import PLANT, WEEK_S, week

from dashboard.charts.flow import flow_drawing
from dashboard.charts.states import legend

ROOT = Path(__file__).parents[2]
ASSETS = ROOT / "dashboard" / "assets"


def page(dark: bool) -> str:
    packed = week()
    parts = [
        ("The line", flow_drawing(PLANT, packed, 56.67 * 3600)),
        ("The key", legend()),
    ]
    body = "".join(f"<section><h2>{name}</h2>{drawn}</section>" for name, drawn in parts)
    styles = "".join(f'<link rel="stylesheet" href="{(ASSETS / name).as_uri()}">' for name in ("tokens.css", "drawings.css"))
    own = (
        "body{margin:0 auto;max-width:1200px;padding:0 var(--side);background:var(--paper);color:var(--ink);"
        "font:14px/20px var(--face)}h2{font-size:17px;line-height:24px;font-weight:640}"
        "section{margin-bottom:36px}"
    )
    theme = ' data-theme="dark"' if dark else ""
    head = f'<meta charset="utf-8"><meta name="viewport" content="width=device-width"><title>Drawings</title>'
    return f'<!doctype html><html lang="en"{theme}><head>{head}{styles}<style>{own}</style></head><body>{body}</body></html>'


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(page("dark" in sys.argv[2:]), encoding="utf-8")
