"""The page of inputs in parts: the sketch, the log with what is wrong in it, the numbers, a draft, the kept runs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from dash import dcc, html
from dash.development.base_component import Component

from dashboard.ask import Ask, address
from dashboard.charts.flow import flow_drawing
from dashboard.charts.log_timeline import LogRow, LogSpan, Piece, log_key, log_timeline
from dashboard.charts.plant import Branch, Plant, Station, Store, section_for, titled
from dashboard.charts.svg import tag
from dashboard.charts.week import days_between, week_data
from dashboard.inputs_files import LARGEST_UPLOAD
from dashboard.inputs_markup import findings, numbers, stations
from dashboard.inputs_numbers import MEASURED, Draft
from dashboard.inputs_words import day_name
from dashboard.parts.amounts import Units
from dashboard.parts.drawing import drawing
from dashboard.parts.frame import choice
from dashboard.parts.marks import data, named
from dashboard.parts.messages import box, fault_line, section
from dashboard.parts.taking import table_links
from twin.store import Saved

Plain = Mapping[str, Any]
CARE = (
    "Numbers of a plant decide where people stand and how long a stop takes. A changed number is a question to the "
    "model, not an order to the line: local rules, the machine maker's manual and licensed people decide."
)
ACCEPT = ".csv,.parquet,.xlsx,.yaml,.yml"
DAYS_NAMED = 14


def sketch(answer: Plain) -> Component:
    """Return the line as the file has it, with how many numbers each station has and how many are measured."""
    line, counted = answer["line"], _counted(answer["numbers"])
    plant = Plant(
        tuple(
            Station(
                row["name"],
                row["kind"],
                source=(row["from"],) if row["from"] else (),
                to=(row["to"],) if row["to"] else (),
                machines=row["machines"],
                thickness_mm=row["thickness_mm"],
                note=counted.get(row["name"], "no numbers"),
            )
            for row in line["stations"]
        ),
        tuple(Store(row["name"], row["holds"], row["capacity"], row["heel"], row["rests"]) for row in line["stores"]),
        tuple(
            Branch(row["at"], row["title"], section_for(row["section"]), counted.get(row["at"], ""))
            for row in line["leaves"]
        ),
    )
    begin = datetime(2001, 1, 1, tzinfo=ZoneInfo("UTC"))
    still = week_data(plant, clock=(0.0, 1.0), days=days_between(begin, 1.0), machines=(), key="sketch")
    return html.Section(
        [drawing(flow_drawing(plant, still, 0.0), id="in-sketch-drawn", className="drawing in-sketch")],
        className="plain in-sketch-part",
        **named("The line as the file has it"),
    )


def _counted(rows: Sequence[Plain]) -> dict[str, str]:
    """Return how many numbers each station has, and how many of them are measured."""
    found: dict[str, list[str]] = {}
    for one in rows:
        found.setdefault(str(one["group"]), []).append(str(one["source"]))
    return {
        name: f"{len(own)} numbers" + (f", {own.count(MEASURED)} measured" if MEASURED in own else "")
        for name, own in found.items()
    }


def log_part(ask: Ask, beside: Sequence[str], kept: Mapping[str, str]) -> Component:
    """Return where a log can be chosen or brought in."""
    logs = [(name, name) for name in beside] + [(name, f"brought in: {title}") for name, title in kept.items()]
    here = [choice("no log", address(replace(ask, log="")), chosen=not ask.log)]
    here += [choice(title, address(replace(ask, log=name)), chosen=name == ask.log) for name, title in logs]
    shown = dict(logs).get(ask.log, ask.log or "none")
    first = html.Summary([html.Span("Log"), html.Strong(shown)])
    panel = html.Div([html.Div(here, role="group", className="choices", **named("Log"))], className="panel")
    field = tag(
        "label",
        tag("span", "Bring one in: the tables, with their mapping file, or one workbook"),
        tag("input", type="file", multiple="multiple", accept=ACCEPT, data_bring="log", data_most=LARGEST_UPLOAD),
    )
    most = f"{LARGEST_UPLOAD // 1_000_000} MB"
    note = (
        "Stops, output, and where they are kept rolls, coils and stock. The files stay on this machine. "
        f"What is larger than {most} is put into a folder beside the plant's file."
    )
    inner: list[Component] = [
        html.Div(
            [html.Details([first, panel], className="chooser"), drawing(field, className="in-bring")],
            className="in-choose",
        ),
        html.Div(id="in-bring-said", role="alert"),
    ]
    return section("The plant's own records", note, inner)


def faults(log: Plain) -> Component:
    """Return why a log cannot be read, each reason with its file, line and way out."""
    count = len(log["faults"])
    title = "The log has a fault." if count == 1 else f"The log has {count} faults."
    return box(title, [fault_line(one) for one in log["faults"][:30]])


def take(answer: Plain, units: Units, *names: str) -> list[Component]:
    """Return the links that take a section's tables away."""
    return [table_links(answer["key"], name, titled(name), units) for name in names]


def folded(words: str, *inner: Component) -> html.Details:
    """Return what few read: folded until it is asked for, and on paper only where it was opened."""
    return html.Details([html.Summary(words), *inner], className="pl-more")


def found_parts(answer: Plain, units: Units) -> list[Component]:
    """Return what the log tells: findings, records along time, what is known of each station."""
    log = answer["log"]
    if log is None:
        return []
    if not log["read"]:
        return [faults(log)]
    return [_findings(answer, units), _timeline(log), _stations(answer, units)]


def _findings(answer: Plain, units: Units) -> Component:
    found = answer["log"]["findings"]
    if not found:
        return section("What is wrong in it", "Nothing was found.", [])
    note = (
        "Mended: put right, and counted. Marked: left as it is, but known. Refused: the log is not used until it is "
        "put right. The effect is what the rows stand for, or what is in doubt. Nothing is mended silently."
    )
    table = drawing(findings(found, units), id="in-findings-drawn")
    return section("What is wrong in it", note, [table], take(answer, units, "findings"))


def _timeline(log: Plain) -> Component:
    begin, end = log["span"]
    span = LogSpan(end - begin, _days(begin, end, log["zone"]))
    rows = [
        LogRow(
            titled(name),
            first - begin,
            last - begin,
            [
                Piece(one["kind"], one["start_s"] - begin, one["end_s"] - begin)
                for one in log["marks"]
                if one["station"] == name
            ],
        )
        for name, (first, last) in log["recorded"].items()
    ]
    first, last = (day_name(at, log["zone"]) for at in (begin, end))
    note = f"From {first} to {last}. What would be too short to be seen is drawn as a thin mark."
    inner = [drawing(log_timeline(rows, span), id="in-timeline"), drawing(log_key(), className="drawing in-key")]
    return section("The records along time", note, inner)


def _days(begin: float, end: float, zone: str) -> list[tuple[float, str]]:
    """Return the days to name on the axis: so many that their names have room, Mondays where there are many."""
    start = datetime.fromtimestamp(begin, ZoneInfo(zone))
    days = [day for day in days_between(start, end - begin) if day.label]
    if len(days) > DAYS_NAMED:
        days = [day for day in days if day.name == "Mon"]
    step = 1 + len(days) // (DAYS_NAMED + 1)
    return [(max(0.0, day.start_s), day.label) for day in days[::step]]


def _stations(answer: Plain, units: Units) -> Component:
    note = (
        "Hours when it was open. Inferred: the share of the stopped time whose length nobody wrote down. No record: "
        "the share of the open hours that no row tells of; it is never taken for running."
    )
    rows = answer["log"]["stations"]
    table = drawing(stations(rows, units), id="in-stations-drawn")
    inner: list[Component] = [folded(f"The {len(rows)} stations", table)]
    return section("What is known of each station", note, inner, take(answer, units, "known"))


def numbers_part(answer: Plain, draft: Draft, units: Units) -> Component:
    """Return every number of the file."""
    changed = {one.path: one.wanted for one in draft.changes}
    note = (
        "As the file has them, with where each is from. A number behind which the file says nothing is assumed. "
        "Paper shows the groups that are open."
    )
    table = drawing(numbers(answer["numbers"], changed), id="in-numbers-drawn")
    return section("Every number", note, [table], take(answer, units, "numbers"))


def change_part() -> html.Section:
    """Return where a number is changed, the draft, and where it is saved."""
    number = dcc.Input(id="in-path", list="in-paths", type="text", debounce=True, value="", maxLength=200)
    value = dcc.Input(id="in-value", type="text", debounce=True, value="", maxLength=200)
    name = dcc.Input(id="in-name", type="text", value="", maxLength=60)
    inner: list[Component] = [
        html.Div(
            [
                html.Label([html.Span("Number"), number], className="in-field in-wide"),
                html.Datalist(id="in-paths"),
                html.Label([html.Span("Value with its unit"), value], className="in-field"),
                html.Button("Put into the draft", id="in-add", className="small", type="button", hidden=True),
            ],
            className="in-change",
        ),
        html.P(id="in-checked", className="note", role="status"),
        html.Div(id="in-draft"),
        html.Div(
            [
                html.Label([html.Span("Save as"), name], className="in-field"),
                html.Button("Save as a new file", id="in-save", className="filled", type="button", n_clicks=0),
            ],
            id="in-saving",
            className="in-change",
            hidden=True,
        ),
        html.Div(id="in-saved", role="status"),
    ]
    note = (
        "Changes are a draft until they are saved as a new file beside the old one; the old one stays as it is, and so "
        "do its comments. The address of this page holds the draft."
    )
    return section("Change a number", note, inner)


def draft_parts(ask: Ask, draft: Draft) -> list[Component]:
    """Return the draft: what changes, each to be taken out again, and every fault at once."""
    if not draft.changes:
        return []
    rows = [
        html.Tr(
            [
                html.Th(one.path, scope="row"),
                html.Td(one.today, className="pl-number"),
                html.Td(html.Strong(one.wanted), className="pl-number"),
                html.Td(_out(ask, one.path), className="in-press"),
            ]
        )
        for one in draft.changes
    ]
    heads = (("number", None), ("in the file", "pl-number"), ("in the draft", "pl-number"))
    columns = [html.Th(said, scope="col", className=class_) for said, class_ in heads]
    columns.append(html.Th(html.Span("to take it out", className="unseen"), scope="col"))
    head = html.Thead(html.Tr(columns))
    made: list[Component] = [html.Table([head, html.Tbody(rows)], className="pl-table in-values")]
    if draft.faults:
        count = len(draft.faults)
        title = "The draft has a fault." if count == 1 else f"The draft has {count} faults."
        told = [{"place": one.place, "message": one.message, "way_out": one.way_out} for one in draft.faults]
        made.append(box(title, [fault_line(one) for one in told]))
    return made


def _out(ask: Ask, path: str) -> html.Button:
    rest = tuple(one for one in ask.sets if one.partition("=")[0].strip() != path)
    return html.Button(
        "take out",
        className="small",
        type="button",
        **named(f"Take {path} out"),
        **data("ask", address(replace(ask, sets=rest))),
    )


def runs_part(saved: Sequence[Saved] | None) -> html.Section:
    """Return the runs that are kept, the newest first."""
    note = "Runs, comparisons and reviews that were kept, the newest first."
    if saved is None:
        return section("Kept runs", "The store of kept runs cannot be opened.", [])
    if not saved:
        return section("Kept runs", "None is kept yet: passline run FILE keeps one.", [])
    heads = ("made", "what", "plant", "runs", "seed", "digest", "model")
    rows = [
        html.Tr(
            [
                html.Th(f"{one.made:%Y-%m-%d %H:%M} UTC", scope="row"),
                html.Td(one.kind),
                html.Td(one.name),
                html.Td(str(one.runs), className="pl-number"),
                html.Td(str(one.seed), className="pl-number"),
                html.Td(f"{one.digest[:4]}…{one.digest[-4:]}" if one.digest else "–"),
                html.Td(one.version),
            ]
        )
        for one in saved
    ]
    right = ("runs", "seed")
    head = html.Thead(
        html.Tr([html.Th(one, scope="col", className="pl-number" if one in right else None) for one in heads])
    )
    table = html.Div(
        html.Table([head, html.Tbody(rows)], className="pl-table"),
        className="in-across",
        tabIndex=0,
        role="group",
        **named("Kept runs"),
    )
    return section("Kept runs", note, [table])
