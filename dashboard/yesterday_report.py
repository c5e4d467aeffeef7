"""The sheet of the shift: one page on paper with what happened, what it finds, and room to sign. One file in itself."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dashboard.charts.svg import tag, words
from dashboard.options_report import FOOT, style
from dashboard.parts.amounts import METRIC, Units
from dashboard.parts.options_markup import markup
from dashboard.yesterday_behind import hand_over, longest, products
from dashboard.yesterday_view import CARE, among, explained, ladder_note, look_at, nothing_asked, rungs, suspects
from dashboard.yesterday_words import long_day, sure_line, tonnes, verdict_parts
from twin.indicators import Part

CAUSES_SHOWN = 5
OWN = """
@page { size: A4 portrait; margin: 10mm 12mm; }
.sheet { max-width: 760px; margin: 0 auto; padding: 20px; }
.sheet .brand-line { display: flex; justify-content: space-between; align-items: baseline; }
.sheet .brand-line { border-bottom: 2px solid var(--metal); padding-bottom: 6px; margin-bottom: 10px; }
.sheet .verdict { font-size: 20px; line-height: 26px; max-width: none; }
.sheet .sure, .sheet .note { font-size: 12px; line-height: 16px; }
.sheet section { border-top: 1px solid var(--line); margin-top: 10px; padding-top: 6px; break-inside: avoid; }
.sheet section h2 { font-size: 14px; line-height: 18px; }
.sheet .pl-table { font-size: 12px; line-height: 15px; }
.sheet .pl-table th, .sheet .pl-table td { padding: 3px 6px; }
.sheet .pl-table th:first-child { padding-left: 0; }
.sheet .two { display: grid; grid-template-columns: minmax(0, 1fr) minmax(0, 1fr); gap: 0 28px; align-items: start; }
.sheet .day-look li { font-size: 13px; line-height: 17px; padding-top: 3px; padding-bottom: 3px; }
.sheet .day-look .evidence { font-size: 12px; line-height: 15px; }
.sheet .day-look li::before { top: 6px; }
.sheet .sign { display: grid; grid-template-columns: 1fr 1fr; gap: 28px; margin-top: 22px; font-size: 12px; }
.sheet .sign div { border-top: 1px solid var(--ink); padding-top: 4px; }
.sheet .care { font-size: 11px; line-height: 14px; margin-top: 12px; padding-top: 5px; max-width: none; }
.sheet .foot { font-size: 11px; line-height: 14px; margin-top: 6px; }
@media print { .sheet { padding: 0; max-width: none; zoom: 0.84; } }
"""


def sheet_of(answer: Mapping[str, Any], units: Units = METRIC) -> str:
    """Return the sheet as HTML that needs no other file."""
    head = tag("span", "passline", class_="brand") + tag(
        "span", words(f"{answer['name']}: hand-over after {long_day(answer['day'])}"), class_="note"
    )
    invented = tag("p", words(INVENTED), class_="note") if answer["invented"] else ""
    body = tag(
        "main",
        tag("div", head, class_="brand-line"),
        invented,
        tag("p", "".join(map(_part, verdict_parts(answer, units))), class_="verdict"),
        tag("p", words(sure_line(answer, units)), class_="sure"),
        _explained(answer, units),
        tag("div", _found(answer, units), _told(answer, units), class_="two"),
        tag("div", tag("div", "Handed over, time"), tag("div", "Taken over, time"), class_="sign"),
        tag("aside", tag("strong", "Care."), " ", words(CARE), class_="care"),
        tag("footer", *(tag("span", words(text)) for text in _made(answer)), class_="foot"),
        class_="sheet",
    )
    name = f"{answer['name']}, {answer['day']}: hand-over"
    return (
        '<!DOCTYPE html>\n<html lang="en" data-theme="light">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{words(name)}</title>\n<style>{style(SHEETS)}{OWN}</style>\n</head>\n<body>{body}</body>\n</html>\n"
    )


SHEETS = ("tokens.css", "frame.css", "drawings.css", "yesterday.css")
INVENTED = "This log is invented: no such day was, and the plant does not exist."


def _part(part: Part) -> str:
    if part.strong:
        return tag("strong", words(part.text))
    return tag("span", words(part.text), class_="soft") if part.soft else words(part.text)


def _section(title: str, *inner: str, note: str = "") -> str:
    said = tag("p", words(note), class_="note") if note else ""
    return tag("section", tag("h2", words(title)), said, *inner)


def _explained(answer: Mapping[str, Any], units: Units) -> str:
    """Return the day among the last ones, its causes, and what is worth a look; nothing for a day of rest."""
    if nothing_asked(answer):
        return ""
    drawn = "".join(tag("div", text, class_="drawing") for text in among(answer, units).drawings)
    if not explained(answer):
        return drawn
    return drawn + tag("div", _causes(answer, units), _looks(answer, units), class_="two")


def _causes(answer: Mapping[str, Any], units: Units) -> str:
    """Return the largest causes and what stays unexplained."""
    found, per = answer["review"], units.per_tonne
    shown = sorted(rungs(answer, units), key=lambda one: -abs(one.tonnes))
    rows = [(one.cause, tonnes(one.tonnes / per, units, sign=True), one.record) for one in shown[:CAUSES_SHOWN]]
    rest = sum(one.tonnes for one in shown[CAUSES_SHOWN:]) / per
    rest += found["booking"]["t"] if found["booking"] else 0.0
    rows += [("All else that is known", tonnes(rest, units, sign=True), "")] if abs(rest) >= 0.05 else []
    rows.append(("Unexplained", tonnes(found["unexplained_t"], units, sign=True), "see the records"))
    heads = ("cause", units.mass, "record")
    start = f"Expected {tonnes(found['expected']['mean_t'], units)}, booked {tonnes(found['actual_t'], units)}."
    caution = ladder_note(found).partition(" The rungs")[0]
    note = f"{start} {caution}" if not caution.startswith("The rungs") else start
    return _section("From expected to actual", markup(heads, rows, said=(0, 2)), note=note)


def _looks(answer: Mapping[str, Any], units: Units) -> str:
    """Return what is worth a look, and the records that look wrong."""
    looks = look_at(answer, units)
    body = "".join(looks.drawings) if looks else tag("p", "Nothing stands out.", class_="pl-said")
    wrong = answer["review"]["suspect"][:3]
    short = {**answer, "review": {**answer["review"], "suspect": wrong}}
    return tag("div", _section("Worth a look", body), _section("Records to look at", *suspects(short, units).drawings))


def _found(answer: Mapping[str, Any], units: Units) -> str:
    piece = hand_over(answer, units)
    return _section(piece.title, *piece.drawings, note=piece.note)


def _told(answer: Mapping[str, Any], units: Units) -> str:
    return _section("What was made, and what stood", products(answer, units), longest(answer))


def _made(answer: Mapping[str, Any]) -> list[str]:
    """Return by what the sheet can be made again."""
    found, digest = answer["review"], answer["digest"]
    return [
        f"{answer['name']}, digest {digest[:4]}…{digest[-4:]}",
        f"seed {answer['seed']}, {found['runs']} runs of the day, model {answer['version']}",
        FOOT,
    ]
