"""The roll changes of a week, as a table: when, which sets, how far, why, how long, what was waited for."""

from collections.abc import Sequence
from dataclasses import dataclass

from dashboard.charts.axes import percent
from dashboard.charts.svg import picture, tag, words


@dataclass(frozen=True)
class RollChange:
    """One change in words; `part` is how much of the limit the set had run, for the bar beside the kilometres."""

    when: str
    sets: str
    run: str
    why: str
    took: str
    wait: str
    part: float | None = None


def _bar(change: RollChange) -> str:
    """Return the kilometres as a bar of metal up to the limit, which is the upright line."""
    if change.part is None:
        return ""
    part = min(1.25, max(0.0, change.part))
    bar = tag("rect", class_="pl-strip", x=0, y=6, width=percent(80.0 * part), height=8)
    limit = tag("line", class_="pl-today", x1="80%", x2="80%", y1=0, y2=20)
    base = tag("line", class_="pl-grid-line", x1=0, x2=0, y1=0, y2=20)
    return picture(f"{change.run} of the limit", base, bar, limit, width=64, height=20)


def roll_changes(changes: Sequence[RollChange], *, name: str = "Roll changes") -> str:
    """Return the table; on a phone the sets and the bars give way."""
    drawn = any(change.part is not None for change in changes)
    heads = [
        ("when", ""),
        ("sets", "pl-spare"),
        ("run", "pl-number"),
        ("of the limit", "pl-spare pl-bars") if drawn else None,
    ]
    heads += [("why", ""), ("took", ""), ("for a set", "")]
    shown = [head for head in heads if head is not None]
    top = "".join(tag("th", words(said), scope="col", class_=class_ or None) for said, class_ in shown)
    body = ""
    for change in changes:
        bar = tag("td", _bar(change), class_="pl-spare pl-bars") if drawn else ""
        body += tag(
            "tr",
            tag("th", words(change.when), scope="row"),
            tag("td", words(change.sets), class_="pl-spare"),
            tag("td", words(change.run), class_="pl-number") + bar,
            *(tag("td", words(said)) for said in (change.why, change.took, change.wait)),
        )
    caption = tag("caption", words(name), class_="pl-hidden")
    return tag("table", caption, tag("thead", tag("tr", top)), tag("tbody", body), class_="pl-table pl-changes")
