"""What lay in the stores along the week: steps, and the line at which each store is full."""

from collections.abc import Mapping, Sequence

from dashboard.charts.axes import Upright, percent, plot, stretched
from dashboard.charts.plant import titled
from dashboard.charts.svg import number, table, tag, text
from dashboard.charts.week import Week

HEIGHT, TOP, FLOOR = 220.0, 22.0, 190.0
KINDS = ("solid", "dashed", "dotted", "thin")
"""How the stores are told apart, in this order."""


def level_path(store: Week, scale: Upright, length: float) -> str:
    """Return the level of a packed store as a path: steps, or straight lines where it is linear."""
    path = f"M0 {number(scale.y(store['v'][0]), 1)}"
    for time, value in zip(store["t"], store["v"], strict=True):
        y = number(scale.y(value), 1)
        path += f"L{time} {y}" if store["linear"] else f"H{time}V{y}"
    return f"{path}H{number(length)}"


def _crossed(stores: Sequence[tuple[str, Week]], scale: Upright, y: float, span: tuple[float, float]) -> bool:
    """Whether the level of any store runs through words whose baseline is y, in a span of time."""
    for _, store in stores:
        first = max((i for i, time in enumerate(store["t"]) if time <= span[0]), default=0)
        seen = [v for i, v in enumerate(store["v"]) if i >= first and store["t"][i] <= span[1]]
        if seen and scale.y(max(seen)) - 2 < y + 3 and scale.y(min(seen)) + 2 > y - 11:
            return True
    return False


def _full_lines(stores: Sequence[tuple[str, Week]], scale: Upright) -> str:
    """Return the line of each full store."""
    ys = [scale.y(store["capacity"]) for _, store in stores if store["capacity"]]
    return "".join(tag("line", class_="pl-full-line", x1=0, x2="100%", y1=y, y2=y) for y in ys)


def _full_words(stores: Sequence[tuple[str, Week]], scale: Upright, length: float) -> str:
    """Return the name of each full line, at the end of it where no level runs through the name."""
    made = ""
    last = -99.0
    for title, store in sorted(stores, key=lambda pair: -(pair[1]["capacity"] or 0.0)):
        if not store["capacity"]:
            continue
        y = scale.y(store["capacity"])
        said = last = max(y - 5, last + 15)
        right = _crossed(stores, scale, said, (0.7 * length, length))
        left = right and not _crossed(stores, scale, said, (0.0, 0.3 * length))
        words = f"{title[:1].lower()}{title[1:]} holds {number(store['capacity'])}"
        class_ = "pl-note" if left else "pl-note pl-end"
        made += text(4 if left else "100%", said, words, f"{class_} pl-halo" if right and not left else class_)
    return made


def _days(week: Week) -> str:
    """Return the names of the days in the middle of each."""
    named = [day for day in week["days"] if day["label"]]
    made = ""
    for i, day in enumerate(named):
        end = named[i + 1]["t"] if i + 1 < len(named) else week["length"]
        if (end - day["t"]) / week["length"] > 0.06:
            middle = percent(100.0 * (day["t"] + end) / 2 / week["length"])
            made += text(middle, FLOOR + 17, day["name"], "pl-axis pl-middle")
    return made


def store_levels(
    week: Week, names: Sequence[str], *, titles: Mapping[str, str] | None = None, name: str = "Coils in the stores"
) -> str:
    """Return the levels of some stores of a packed week, the first one filled, each with its own kind of line."""
    packed = {store["name"]: store for store in week["stores"]}
    stores = [((titles or {}).get(key, titled(key)), packed[key]) for key in names if key in packed]
    if not stores:
        return ""
    highest = max(max([*store["v"], store["capacity"] or 0.0]) for _, store in stores)
    whole = all(store["unit"] in ("coils", "pieces") for _, store in stores)
    scale = Upright(max(1.0 if whole else 0.1, highest) * 1.06, top=TOP, floor_y=FLOOR, whole=whole)
    length = float(week["length"])
    below = level_path(stores[0][1], scale, length) + f"V{number(FLOOR)}H0Z"
    body = [stretched(below, "pl-below", length, HEIGHT), _full_lines(stores, scale)]
    for kind, (_, store) in zip(KINDS, stores, strict=False):
        body.append(stretched(level_path(store, scale, length), f"pl-level pl-{kind}", length, HEIGHT))
    drawn = plot(name, scale, HEIGHT, *body, _full_words(stores, scale, length), _days(week))
    return tag("div", drawn, _table(stores, length, name), class_="pl-chart")


def mean_level(store: Week, length: float) -> float:
    """Return the mean of a packed level over its time."""
    times = [*store["t"], length]
    total = 0.0
    for i, value in enumerate(store["v"]):
        after = store["v"][i + 1] if store["linear"] and i + 1 < len(store["v"]) else value
        total += (value + after) / 2 * (times[i + 1] - times[i])
    return total / length


def _table(stores: Sequence[tuple[str, Week]], length: float, name: str) -> str:
    rows = []
    for title, store in stores:
        holds = "no limit" if store["capacity"] is None else number(store["capacity"])
        ends = (number(min(store["v"]), 1), number(mean_level(store, length), 1), number(max(store["v"]), 1))
        rows.append((title, store["unit"], *ends, holds))
    return table(name, ("store", "unit", "least", "mean", "most", "holds"), rows)
