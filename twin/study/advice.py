"""The manager's answer in a sentence: does it pay, why not more, what with it does, what is cheaper for the same."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil
from typing import Any, Literal

from twin.indicators import Part
from twin.indicators.intervals import Interval, plant_interval
from twin.line.model import SHOP
from twin.study.compare import Comparison, Row
from twin.study.maker import weekly
from twin.words import NO_BREAK, PLUS_MINUS, half_width, number, places_alone, places_for, plain

AS_MUCH = 0.02  # of today's output: designs closer than this add as much as each other
LEAST_RUNS = 6  # from which the mean is enough to name something that would do as well
SURELY = 0.75  # chance from which something is said to have limited before
Kind = Literal["yes", "not alone", "no", "unsure", "tonnes"]
Plain = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Advice:
    """What the sentence is about, by the numbers of the rows.

    Attributes
    ----------
    focus : The option that was asked for first.
    kind : It pays, pays only with something else, does not, cannot be told yet; or the file has no money.
    limit : What limits once it works, nothing if that is not known.
    joined : The row with it that adds the most, if that adds more.
    twin : A row without it that adds as much and is worth more.
    best : The row of the most value.
    more_runs : How many more runs would tell, where it cannot be told yet.
    """

    focus: int
    kind: Kind
    limit: str | None
    joined: int | None
    twin: int | None
    best: int
    more_runs: int | None

    def plain(self) -> dict[str, Any]:
        """Return the same as plain values."""
        return {key: getattr(self, key) for key in self.__slots__}


def advice(found: Comparison) -> Advice | None:
    """Return what to say of a comparison, None where nothing but today is in it."""
    if len(found.rows) < 2:
        return None
    focus = found.rows[1]
    joined = _joined(found, focus)
    kind = _kind(focus, joined)
    rows = list(found.rows)
    about = joined if joined is not None and kind != "yes" else focus
    twin = _twin(found, focus, about)
    return Advice(
        focus=1,
        kind=kind,
        limit=focus.limits.first if focus.limits is not None else None,
        joined=rows.index(joined) if joined is not None else None,
        twin=rows.index(twin) if twin is not None else None,
        best=rows.index(found.best),
        more_runs=_more_runs(focus) if kind == "unsure" else None,
    )


def _kind(focus: Row, joined: Row | None) -> Kind:
    """Return whether the option pays, as far as its interval tells."""
    if focus.worth is None:
        return "tonnes"
    low, high = focus.worth.value.low, focus.worth.value.high
    if low is None or high is None or low <= 0.0 <= high:
        return "unsure"
    if low > 0.0:
        return "yes"
    return "not alone" if joined is not None and joined.worth is not None and joined.worth.value.mean > 0.0 else "no"


def _joined(found: Comparison, focus: Row) -> Row | None:
    """Return the row that holds the option with others and adds the most, if that is more for sure."""
    larger = [row for row in found.rows if set(row.options) > set(focus.options) and row.change is not None]
    best = max(larger, key=lambda row: row.change.mean if row.change else 0.0, default=None)
    return best if best is not None and (between(best, focus).low or 0.0) > 0.0 else None


def _twin(found: Comparison, focus: Row, about: Row) -> Row | None:
    """Return the row without the option that adds as much as another row and is worth the most, if that is more."""
    if about.worth is None:
        return None
    close = AS_MUCH * found.today.made.good.mean
    others = [
        row
        for row in found.rows[1:]
        if not set(focus.options) <= set(row.options)
        and row.worth is not None
        and row.worth.value.mean > about.worth.value.mean
        and _as_much(between(row, about), close, row.made.runs)
    ]
    return max(others, key=lambda row: row.worth.value.mean if row.worth else 0.0, default=None)


def _as_much(more: Interval, close: float, runs: int) -> bool:
    """Return whether a row adds as much as another; in a first look luck would choose, so there it must be sure."""
    sure = more.low is not None and more.low > -close
    return more.mean > -close and (sure or runs >= LEAST_RUNS)


def between(one: Row, other: Row) -> Interval:
    """Return how much more one row makes than another, run by run. [t/week]"""
    runs = min(one.made.runs, other.made.runs)
    return plant_interval(weekly(one.made)[:runs] - weekly(other.made)[:runs], one.made.group)


def _more_runs(focus: Row) -> int | None:
    """Return about how many more runs would show the sign of the value: they grow as the square of the width.

    Where runs have plants of their own, none is told: what is not known of the plant is left however many there are.
    """
    worth = focus.worth
    if worth is None or not worth.value.half or not worth.value.mean or focus.made.group:
        return None
    return max(1, ceil(focus.made.runs * ((worth.value.half / worth.value.mean) ** 2 - 1.0)))


@dataclass(frozen=True, slots=True)
class Scale:
    """The unit in which mass is told, and how many of it a tonne is."""

    mass: str = "t"
    per_tonne: float = 1.0


def question(results: Plain) -> str:
    """Return the question that the sentence answers."""
    told = results["advice"]
    if told is None:
        return "What does the line make?"
    name = title(results["rows"][told["focus"]]["options"])
    return f"{name}: does it pay?" if told["kind"] != "tonnes" else f"{name}: what does it add?"


def title(options: Sequence[str]) -> str:
    """Return the name of a row: its options, or today."""
    text = " + ".join(map(option_words, options)) or "today"
    return text[:1].upper() + text[1:]


def option_words(option: str) -> str:
    """Return an option as it is read; a single value by its place: `slitter speed 235 m/min`."""
    path, single, value = option.partition("=")
    if not single or "." not in path:
        return option
    place = path.strip().removeprefix("stations.").replace(".", " ").replace("_", " ")
    return f"{place} {value.strip()}"


def verdict_parts(results: Plain, scale: Scale = Scale()) -> tuple[Part, ...]:
    """Return the sentence on top of a comparison, from its plain results."""
    told = results["advice"]
    if told is None:
        return (Part("Only today was asked for: there is nothing to compare."),)
    rows = results["rows"]
    places = _places([rows[i]["change"] for i in (told["focus"], told["joined"]) if i is not None], scale)
    return (
        *_answer(told, rows[told["focus"]], scale, places),
        *_why(results, told),
        *_with(told, rows, scale, places),
        *_instead(told, rows),
    )


def _places(changes: Sequence[Plain], scale: Scale) -> int:
    """Return the decimals of all changes of a sentence: those of the widest."""
    halves = [scale.per_tonne * half for one in changes if (half := half_width(one))]
    return min(places_for(one) for one in halves) if halves else places_alone(changes[0]["mean"])


def amount(change: Plain, scale: Scale, places: int, unit: bool = True) -> list[Part]:
    """Return a change of output with its half-width, the number strong."""
    half = half_width(change)
    parts = [Part(plain(scale.per_tonne * change["mean"], places), strong=True)]
    if half is not None:
        parts.append(Part(f"{NO_BREAK}{PLUS_MINUS}{NO_BREAK}{plain(scale.per_tonne * half, places)}", soft=True))
    return [*parts, Part(f"{NO_BREAK}{scale.mass}/week")] if unit else parts


def _answer(told: Plain, row: Plain, scale: Scale, places: int) -> list[Part]:
    """Say whether it pays and what it adds."""
    opening = {"yes": "Yes: it adds ", "not alone": "Not alone: it adds ", "no": "No: it adds "}
    adds = amount(row["change"], scale, places)
    if told["kind"] == "tonnes":
        return [Part("It adds "), *adds]
    if told["kind"] == "unsure":
        more = told["more_runs"]
        runs = f": about {plain(more)} more runs would tell" if more is not None else ""
        return [Part(f"Whether it pays cannot be told yet{runs}. It adds "), *adds]
    parts = [Part(opening[told["kind"]]), *adds]
    if told["kind"] == "yes" and row["payback"]["mean"] is not None:
        parts += [Part(" and is paid back "), Part(after(row["payback"]["mean"]), strong=True)]
    return parts


def after(years: float) -> str:
    """Return a time to payback in words: within a month, in months below a year, else in years."""
    if years < 1.0 / 12.0:
        return "within a month"
    if years < 1.0:
        months = ceil(12.0 * years)
        return f"after {months}{NO_BREAK}month{'' if months == 1 else 's'}"
    return f"after {number(years, places=1)}{NO_BREAK}years"


def _why(results: Plain, told: Plain) -> list[Part]:
    """Say what limits once it works."""
    limit = told["limit"]
    if limit is None:
        return [Part(".")]
    still = "still" if results["rows"][0]["limits"].get(limit, 0.0) >= SURELY else "then"
    if told["kind"] in ("yes", "tonnes", "unsure"):
        return [Part(f"; {still} {called(limit)} {holds(limit)} the line.")]
    return [Part(f", because {called(limit)} {still} {holds(limit)} the line.")]


def holds(limit: str) -> str:
    """Return the verb that goes with a limit's name."""
    return "hold" if limit.endswith("s") and not limit.endswith("ss") else "holds"


def called(limit: str) -> str:
    """Return a limit as a sentence calls it."""
    return "the roll shop" if limit.endswith(SHOP) else f"the {limit}"


def _with(told: Plain, rows: Sequence[Plain], scale: Scale, places: int) -> list[Part]:
    """Say what it adds together with another option."""
    if told["joined"] is None:
        return []
    others = [name for name in rows[told["joined"]]["options"] if name not in rows[told["focus"]]["options"]]
    return [
        Part(f" With {' and '.join(map(option_words, others))} it adds "),
        *amount(rows[told["joined"]]["change"], scale, places, unit=False),
        Part("." if told["twin"] is None or told["kind"] == "yes" else "; "),
    ]


def _instead(told: Plain, rows: Sequence[Plain]) -> list[Part]:
    """Say what brings as much and is worth more."""
    if told["twin"] is None:
        return []
    about = told["joined"] if told["joined"] is not None and told["kind"] != "yes" else told["focus"]
    twin = rows[told["twin"]]
    begin = " " if told["joined"] is None or told["kind"] == "yes" else ""
    name = " + ".join(map(option_words, twin["options"]))
    own, other = twin["capex"], rows[about]["capex"]
    text = f"{begin}{name if begin == '' else title(twin['options'])} adds as much or more for "
    unit = own["unit"]
    price = f"{plain(own['mean'])}{NO_BREAK}{unit} instead of {plain(other['mean'])}"
    return [Part(text), Part(price, strong=True), Part(".")]


def _oversold(one: Plain) -> str:
    """Return that more of something is made than sells."""
    made, sells = (number(one[key], unit=one["unit"]) for key in ("made", "sells"))
    return f"Of {one['name']} {made} are made today and {sells} sell: more of it earns nothing."


def how_sure(results: Plain) -> str:
    """Return the line below the sentence."""
    from twin.indicators.verdict import length_in_words

    designs = len(results["rows"])
    runs = f"{results['runs']} simulated runs of {length_in_words(results['length_h'])}"
    sales = (
        " ".join(["Sales are capped where the file says so.", *map(_oversold, results.get("oversold", ()))])
        if results["capped"]
        else "All tonnes are taken to sell; see the limits below."
        if results["currency"]
        else "The file says nothing of money."
    )
    decided = "" if results["decided"] or designs < 2 else " Which is best is not sure yet."
    same = f"{designs} lines on the same {runs} each, so changes are like with like; 95{NO_BREAK}% interval."
    return f"{same} {sales}{decided}"
