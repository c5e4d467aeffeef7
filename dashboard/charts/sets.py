"""Where the roll sets are: six places from left to right along the pass line, a set as two rolls with a gap."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, pi, sin

from dashboard.charts.svg import line, moved, number, picture, scrolling, table, tag, text

PLACES = {
    "on mill": "On the mill",
    "cooling": "Cooling",
    "waiting": "Waits for the grinder",
    "grinding": "Grinding",
    "heating": "Heating",
    "ready": "Ready",
}
ALSO = {"fitting": "grinding", "on_mill": "on mill", "waits_grinder": "waiting"}
RADIUS, MIDDLE, WIDTH = 22.0, 104.0, 1200.0
GAP = 5.0
LINE = 16.0


@dataclass(frozen=True)
class RollSet:
    """One set: its number, where it is, its diameter and the one time that matters in words, how far it has run.

    `run` is the share of the limit, None where it does not count.
    """

    number: int
    place: str
    diameter: str = ""
    note: str = ""
    run: float | None = None


def _arc(radius: float, share: float) -> str:
    """Return an arc from the top, clockwise; a full turn is the limit."""
    part = min(0.9999, max(0.0, share))
    end = 2 * pi * part - pi / 2
    large = 1 if part > 0.5 else 0
    x, y = number(radius * cos(end)), number(radius * sin(end))
    return f"M0 {number(-radius)}A{number(radius)} {number(radius)} 0 {large} 1 {x} {y}"


def _roll(x: float, y: float, radius: float, run: float | None, inside: str) -> str:
    arc = tag("path", d=_arc(radius - 4, run), class_="pl-run") if run else ""
    return moved(x, y, tag("circle", r=radius, class_="pl-face-of-roll"), arc, inside)


def roll_set(x: float, y: float, one: RollSet, radius: float = RADIUS, *, shut: bool = False) -> str:
    """Return a set about its gap: two rolls, the upper with its number; on the mill the gap is shut."""
    apart = radius + (0.5 if shut else GAP)
    upper = _roll(x, y - apart, radius, one.run if shut else None, text(0, 5, str(one.number), "pl-set-number"))
    lower = _roll(x, y + apart, radius, one.run if shut else None, tag("circle", r=1.8, class_="pl-pin"))
    return upper + lower


def by_place(sets: Sequence[RollSet]) -> dict[str, list[RollSet]]:
    """Return the sets by the place they stand at."""
    found: dict[str, list[RollSet]] = {place: [] for place in PLACES}
    for one in sets:
        place = ALSO.get(one.place, one.place)
        if place not in found:
            raise ValueError(f"set {one.number} is at {one.place!r}: a set is at one of {', '.join(PLACES)}")
        found[place].append(one)
    return found


def _place(index: int, place: str, there: list[RollSet], each: float) -> str:
    """Return one place: its name, its sets side by side, the pass line through their gaps."""
    left, middle = each * index, each * (index + 0.5)
    head = text(middle, 24, PLACES[place], "pl-name pl-middle")
    rule = line(left, 44, left, 164, "pl-grid-line") if index else ""
    if not there:
        gap = tag("path", d=f"M{number(middle - 26)} {number(MIDDLE)}h52", class_="pl-gap")
        return head + rule + gap + text(middle, MIDDLE + 4, "none", "pl-note pl-middle")
    step = min(104.0, (each - 8) / len(there))
    radius = min(RADIUS, step / 2 - 2)
    made = head + rule
    for i, one in enumerate(there):
        x = middle + step * (i - (len(there) - 1) / 2)
        shut = place == "on mill"
        path = f"M{number(x - radius)} {number(MIDDLE)}h{number(2 * radius)}"
        gap = "" if shut else tag("path", d=path, class_="pl-gap") + tag("path", d=path, class_="pl-gap-dots")
        made += gap + roll_set(x, MIDDLE, one, radius, shut=shut)
        if len(there) <= 2:
            made += text(x, 174, one.diameter, "pl-text pl-middle") + text(x, 192, one.note, "pl-note pl-middle")
    return made + (_listed(there, middle) if len(there) > 2 else "")


def _listed(there: list[RollSet], middle: float) -> str:
    """Return the words of sets that stand too close for words below each: one line for each."""
    lines = (f"{one.number}: " + ", ".join(part for part in (one.diameter, one.note) if part) for one in there)
    return "".join(text(middle, 174 + LINE * i, said, "pl-note pl-middle") for i, said in enumerate(lines))


def _across(found: dict[str, list[RollSet]], name: str) -> str:
    each = WIDTH / len(PLACES)
    mill = each * 0.5
    thick = tag("rect", class_="pl-strip", x=0, y=MIDDLE - 3.5, width=mill, height=7)
    thin = tag("rect", class_="pl-strip", x=mill, y=MIDDLE - 1.2, width=WIDTH - mill, height=2.4)
    places = "".join(_place(i, place, there, each) for i, (place, there) in enumerate(found.items()))
    most = max(len(there) for there in found.values())
    box = f"0 0 {number(WIDTH)} {number(max(200.0, 180.0 + LINE * (most - 1)) if most > 2 else 200.0)}"
    return picture(name, thick, thin, places, viewBox=box, width="100%", class_="pl-sets-across")


def _down(found: dict[str, list[RollSet]], name: str) -> str:
    made, y = "", 0.0
    for place, there in found.items():
        if not there:
            made += text(0, y + 20, PLACES[place], "pl-name") + text(190, y + 20, "none", "pl-second pl-middle")
            y += 32
        for i, one in enumerate(there):
            if i == 0:
                made += text(0, y + 43, PLACES[place], "pl-name")
            made += roll_set(190, y + 38, one, 15.0, shut=place == "on mill")
            made += text(222, y + 40, one.diameter, "pl-text") + text(222, y + 57, one.note, "pl-note")
            y += 76
    return picture(name, made, viewBox=f"0 0 350 {number(y)}", width="100%", class_="pl-flow-down")


def roll_sets(sets: Sequence[RollSet], *, name: str = "Where the roll sets are") -> str:
    """Return the places of all sets for wide pages and for phones, with the same as a table."""
    found = by_place(sets)
    wide = scrolling(name, _across(found, name))
    rows = [
        (PLACES[place], f"set {one.number}", one.diameter, one.note) for place, there in found.items() for one in there
    ]
    said = table(name, ("place", "set", "diameter", "note"), rows)
    return tag("div", wide, tag("div", _down(found, name), class_="pl-phone"), said, class_="pl-flow")
