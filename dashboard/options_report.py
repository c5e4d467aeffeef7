"""The report of a comparison: one file in itself, with its typeface, that prints on two pages in landscape."""

from __future__ import annotations

import base64
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from dashboard.charts.svg import tag, words
from dashboard.parts.amounts import METRIC, Units
from dashboard.parts.options_view import CARE, Piece, pieces, scale_of
from twin.study.advice import how_sure, question, verdict_parts

ASSETS = Path(__file__).parent / "assets"
FACE = "sofia-sans-semi-condensed-latin-wght-normal.woff2"
SHEETS = ("tokens.css", "frame.css", "drawings.css")
FIRST_PAGE = ("ways", "place")
LEFT = ("chances", "hours", "cheaper")
FOOT = "A plan, not a permit: local rules, the machine maker's manual and your own people decide."
OWN = """
.report { max-width: 1017px; margin: 0 auto; padding: 24px 20px; }
.brand-line { border-bottom: 2px solid var(--metal); padding-bottom: 8px; margin-bottom: 14px; }
.report section { border-top: 1px solid var(--line); margin-top: 18px; padding-top: 8px; }
.report section:first-of-type { border-top: 0; padding-top: 0; }
.report section h2 { font-size: 15px; line-height: 20px; }
.report section .note { font-size: 12px; line-height: 16px; }
.report .verdict { font-size: 24px; line-height: 30px; }
.report .pl-table { font-size: 12px; line-height: 16px; }
.report .pl-table th, .report .pl-table td { padding: 4px 8px; }
.report .pl-drawn .pl-drawn-cell { height: 30px; }
.second { display: grid; grid-template-columns: minmax(0, 1fr) minmax(0, 1fr); gap: 0 32px; align-items: start; }
.report .pl-hours-grid { grid-template-columns: 150px minmax(0, 1fr); }
.report .pl-hours-name, .report .pl-odds-title, .report .pl-odds-count, .report .pl-said { font-size: 12px; }
.report .pl-odds-grid { gap: 6px 12px; }
.report .pl-rests { font-size: 12px; line-height: 16px; }
@media (max-width: 760px) { .second { grid-template-columns: minmax(0, 1fr); } }
.report .care { font-size: 11px; line-height: 14px; margin-top: 14px; padding-top: 6px; max-width: none; }
.report .foot { font-size: 11px; line-height: 14px; margin-top: 8px; }
@media print {
  .report { padding: 0; max-width: none; zoom: 0.8; }
  .second { break-before: page; }
  .report section { break-inside: avoid; }
}
"""


def report_of(results: Mapping[str, Any], units: Units = METRIC, doubt: str = "") -> str:
    """Return the whole report as HTML that needs no other file; `doubt` says how uncertain the inputs were taken."""
    found = pieces(results, units, key="report-", short=True, uncertain=bool(doubt) or "inputs" in results)
    first = [piece for piece in found if piece.name in FIRST_PAGE]
    left = [piece for piece in found if piece.name in LEFT]
    right = [piece for piece in found if piece.name not in FIRST_PAGE + LEFT]
    body = tag(
        "div",
        tag("div", tag("span", "passline", class_="brand"), class_="brand-line"),
        _answer(results, units, doubt),
        _column(first),
        tag("div", _column(left), _column(right), class_="second"),
        tag("aside", tag("strong", "Care."), " ", words(CARE), class_="care"),
        tag("footer", *(tag("span", words(text)) for text in _made(results)), class_="foot"),
        class_="report",
    )
    name = f"{results['scenario']}: {question(results)}"
    return (
        '<!DOCTYPE html>\n<html lang="en" data-theme="light">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{words(name)}</title>\n<style>{style()}{OWN}</style>\n</head>\n<body>{body}</body>\n</html>\n"
    )


def style(names: Sequence[str] = SHEETS) -> str:
    """Return style sheets of the pages with the typeface inside."""
    face = base64.b64encode((ASSETS / FACE).read_bytes()).decode()
    text = "\n".join((ASSETS / name).read_text(encoding="utf-8") for name in names)
    text = re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL)
    return text.replace(f'url("{FACE}")', f"url(data:font/woff2;base64,{face})")


def _answer(results: Mapping[str, Any], units: Units, doubt: str) -> str:
    """Return question, sentence, and how sure it is."""
    parts = "".join(
        _part(part.text, strong=part.strong, soft=part.soft) for part in verdict_parts(results, scale_of(units))
    )
    return (
        tag("h1", words(question(results)), class_="question")
        + tag("p", parts, class_="verdict")
        + tag("p", words(how_sure(results) + doubt), class_="sure")
    )


def _part(text: str, *, strong: bool, soft: bool) -> str:
    if strong:
        return tag("strong", words(text))
    return tag("span", words(text), class_="soft") if soft else words(text)


def _column(found: Sequence[Piece]) -> str:
    """Return pieces below each other."""
    made = ""
    for piece in found:
        drawn = "".join(tag("div", text, class_="drawing") for text in piece.drawings)
        made += tag("section", tag("h2", words(piece.title)), tag("p", words(piece.note), class_="note"), drawn)
    return tag("div", made)


def _made(results: Mapping[str, Any]) -> list[str]:
    """Return by what the report can be made again."""
    digest = results["digest"]
    return [
        f"{results['scenario']}, digest {digest[:4]}…{digest[-4:]}",
        f"seed {results['seed']}, {results['runs']} runs, model {results['version']}",
        FOOT,
    ]
