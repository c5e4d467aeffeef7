"""Tables of the page of inputs as markup: findings, what is known of each station, every number with its source."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from dashboard.charts.plant import titled
from dashboard.charts.svg import tag, words
from dashboard.inputs_numbers import MEASURED, MEMORY, SOURCES
from dashboard.inputs_words import where
from dashboard.parts.amounts import Units
from twin.words import NOT_ASKED, plain, share

Plain = Mapping[str, Any]
HOUR_S = 3600.0
FIRST = 6
"""So many findings are shown at once; those that follow weigh less."""
MARKS = {MEASURED: "full", MEMORY: "dotted"}


def ring(source: str) -> str:
    """Return the ring that says where a number is from."""
    return tag("i", class_=f"in-ring in-{MARKS.get(source, 'open')}", aria_hidden="true")


def sift(target: str, label: str, choices: Sequence[tuple[str, str]], all_of_them: str) -> str:
    """Return what narrows a table to the rows that hold some words or are of one kind."""
    field = tag("input", type="search", data_sift=target, autocomplete="off")
    options = tag("option", words(all_of_them), value="")
    options += "".join(tag("option", words(said), value=value) for value, said in choices)
    kinds = tag("select", options, data_sift_kind=target)
    said = tag("span", "", class_="in-shown", role="status", data_sift_said=target)
    return tag(
        "div",
        tag("label", tag("span", words(label)), field),
        tag("label", tag("span", "of kind"), kinds),
        said,
        class_="in-sift",
    )


def findings(found: Sequence[Plain], units: Units, key: str = "in-findings") -> str:
    """Return the doctor's findings, the refused first, then by effect; with what narrows them."""
    heads = (
        ("what is wrong", ""),
        ("where", ""),
        ("rows", "pl-number"),
        ("done", ""),
        (f"effect {units.mass}", "pl-number"),
    )
    head = "".join(tag("th", words(name), scope="col", class_=class_ or None) for name, class_ in heads)
    body = "".join(_finding(one, units, later=at >= FIRST) for at, one in enumerate(found))
    made = tag("table", tag("thead", tag("tr", head)), tag("tbody", body), class_="pl-table in-findings", id=key)
    kinds = sorted({str(one["kind"]) for one in found} | {str(one["done"]) for one in found})
    narrow = sift(key, "Show only", [(kind, kind) for kind in kinds], "all kinds")
    return narrow + made + (more(key, len(found)) if len(found) > FIRST else "")


def more(target: str, count: int) -> str:
    """Return the button that shows what a long table holds back."""
    shown = f"Show all {count}"
    return tag("button", words(shown), type="button", class_="small in-more", data_more=target, data_said=shown)


def _finding(one: Plain, units: Units, *, later: bool) -> str:
    effect = NOT_ASKED if one["effect_t"] is None else plain(abs(one["effect_t"]) * units.per_tonne, 1)
    way_out = tag("span", words(_sentence(one["way_out"])), class_="pl-row-note") if one["way_out"] else ""
    return tag(
        "tr",
        tag("th", words(_sentence(one["words"])), way_out, scope="row"),
        tag("td", words(where(one)), data_label="where"),
        tag("td", words(plain(one["count"])), class_="pl-number", data_label="rows"),
        tag("td", words(one["done"]), data_label="done"),
        tag("td", words(effect), class_="pl-number", data_label=f"effect {units.mass}"),
        data_kinds=f"{one['kind']}|{one['done']}",
        data_later="" if later else None,
        hidden="hidden" if later else None,
        class_="pl-holds" if one["done"] == "refused" else None,
    )


def _sentence(text: str) -> str:
    shown = text[:1].upper() + text[1:]
    return shown if shown.endswith((".", "?")) else f"{shown}."


def stations(rows: Sequence[Plain], units: Units) -> str:
    """Return what the log tells of each station, and how much of that nobody wrote down."""
    heads = (
        "station",
        "works h",
        "stopped h",
        "stops",
        "inferred",
        "no record",
        f"made {units.mass}",
        f"in doubt {units.mass}",
    )
    head = "".join(
        tag("th", words(name), scope="col", class_="pl-number" if at else None) for at, name in enumerate(heads)
    )
    body = ""
    for one in rows:
        cells = (
            plain(one["worked_s"] / HOUR_S),
            plain(one["stopped_s"] / HOUR_S, 1),
            plain(one["stops"]),
            share(one["inferred"]),
            share(one["unrecorded"]),
            plain(one["good_t"] * units.per_tonne),
            plain(one["doubted_t"] * units.per_tonne, 1),
        )
        made = "".join(
            tag("td", words(cell), class_="pl-number", data_label=name)
            for name, cell in zip(heads[1:], cells, strict=True)
        )
        body += tag("tr", tag("th", words(titled(one["station"])), scope="row"), made)
    return tag("table", tag("thead", tag("tr", head)), tag("tbody", body), class_="pl-table in-fold")


def numbers(rows: Sequence[Plain], changed: Mapping[str, str], key: str = "in-numbers") -> str:
    """Return every number by station and section, folded, each with its source and a button to change it."""
    groups: dict[str, list[Plain]] = {}
    for one in rows:
        groups.setdefault(str(one["group"]), []).append(one)
    folds = "".join(_group(name, own, changed) for name, own in groups.items())
    kinds = [(source, source) for source in SOURCES]
    return sift(key, "Show only", kinds, "all sources") + tag("div", folds, id=key, class_="in-groups")


def _group(name: str, rows: Sequence[Plain], changed: Mapping[str, str]) -> str:
    measured = sum(1 for one in rows if one["source"] == MEASURED)
    said = f"{len(rows)} numbers" if len(rows) > 1 else "one number"
    said += f", {measured} measured" if measured else ""
    kind = rows[0]["kind"] if rows[0]["kind"] and rows[0]["kind"] != name else ""
    note = tag("span", words(f"{kind}, {said}" if kind else said), class_="in-count")
    head = "".join(
        tag("th", words(one), scope="col", class_="pl-number" if one == "value" else None)
        for one in ("number", "value", "from")
    )
    head += tag("th", tag("span", "to change it", class_="unseen"), scope="col")
    body = "".join(_number(name, one, changed.get(one["path"])) for one in rows)
    made = tag("table", tag("thead", tag("tr", head)), tag("tbody", body), class_="pl-table in-values")
    return tag("details", tag("summary", tag("strong", words(titled(name))), note), made, data_group=name)


def shown_text(one: Plain) -> str:
    """Return a number as it stands in the file."""
    return str(one["text"])


def _number(group: str, one: Plain, wanted: str | None) -> str:
    name = f"{group}, {one['label']}"
    value = words(shown_text(one))
    if wanted is not None:
        value = tag("s", value) + " " + tag("strong", words(wanted))
    said = one["source"] + (f": {one['note']}" if one["note"] else "")
    press = tag(
        "button", "change", type="button", class_="small", data_pick=one["path"], data_now=wanted or shown_text(one),
        aria_label=f"Change {name}",
    )  # fmt: skip
    return tag(
        "tr",
        tag("th", words(one["label"]), scope="row"),
        tag("td", value, class_="pl-number"),
        tag("td", ring(one["source"]), words(said), class_="in-source"),
        tag("td", press, class_="in-press"),
        data_kinds=one["source"],
    )
