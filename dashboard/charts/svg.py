"""The few words needed to write SVG and HTML as text."""

from collections.abc import Sequence
from html import escape

Attribute = str | float | int | None

_EMPTY = frozenset({"path", "rect", "circle", "line", "polyline", "polygon", "ellipse", "use"})
_THIN_SPACE = "\u2009"
NO_BREAK = "\u00a0"


def number(value: float, digits: int = 2) -> str:
    """Return a number for an attribute: at most so many decimals, no trailing zeros, no minus zero."""
    text = f"{value:.{digits}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


def _attribute(name: str, value: str | float) -> str:
    written = name.rstrip("_").replace("_", "-")
    shown = value if isinstance(value, str) else number(value, 3)
    return f' {written}="{escape(shown)}"'


def tag(name: str, *content: str, **attributes: Attribute) -> str:
    """Return one element. Content is markup already; attributes are escaped; None leaves an attribute out.

    A trailing underscore is dropped (`class_`), other underscores become hyphens (`text_anchor`).
    """
    given = "".join(_attribute(key, value) for key, value in attributes.items() if value is not None)
    if name in _EMPTY and not content:
        return f"<{name}{given}/>"
    if name == "input":
        return f"<{name}{given}>"
    return f"<{name}{given}>{''.join(content)}</{name}>"


def words(text: str) -> str:
    """Return text made safe to stand between tags."""
    return escape(text)


def text(x: float | str, y: float, shown: str, class_: str = "pl-text", **attributes: Attribute) -> str:
    """Return one line of text with its baseline at y [px]."""
    return tag("text", words(shown), x=x, y=y, class_=class_, **attributes)


def group(*content: str, **attributes: Attribute) -> str:
    """Return a group of elements."""
    return tag("g", *content, **attributes)


def moved(x: float, y: float, *content: str, **attributes: Attribute) -> str:
    """Return a group whose origin lies at x, y [px]."""
    return tag("g", *content, transform=f"translate({number(x)} {number(y)})", **attributes)


def line(x1: float, y1: float, x2: float, y2: float, class_: str, **attributes: Attribute) -> str:
    """Return a straight line; a level or upright one is written as a path, which is shorter."""
    return tag("path", d=f"M{number(x1)} {number(y1)}L{number(x2)} {number(y2)}", class_=class_, **attributes)


def picture(name: str, *content: str, **attributes: Attribute) -> str:
    """Return a drawing with its name, as one image for those who do not see it."""
    return tag("svg", *content, xmlns="http://www.w3.org/2000/svg", role="img", aria_label=name, **attributes)


def hatch(name: str) -> str:
    """Return a pattern of this name: thin strokes that rise to the right, for a heel and for what is not known."""
    strokes = tag("path", d="M-1 7L7 -1M-1 1L1 -1M5 7L7 5", class_="pl-hatch")
    return tag("defs", tag("pattern", strokes, id=name, width=6, height=6, patternUnits="userSpaceOnUse"))


def figure(value: float, digits: int = 0) -> str:
    """Return a number as it is read: halves up, thin spaces between thousands, a true minus.

    The playing script rounds the same way, so that both write the same figure.
    """
    scale = 10.0**digits
    rounded = int(abs(value) * scale + 0.5) / scale
    shown = f"{rounded:,.{digits}f}".replace(",", _THIN_SPACE)
    return f"\u2212{shown}" if value < 0 and rounded else shown


def at_mark(value: float) -> str:
    """Return a number at a mark of a scale: no more than two decimals, no trailing zeros, a true minus."""
    return figure(value, len(number(value).partition(".")[2]))


def amount(value: float, unit: str, digits: int = 0) -> str:
    """Return a number with its unit, never broken between the two."""
    return f"{figure(value, digits)}{NO_BREAK}{unit}"


def text_width(shown: str, size: float = 14.0) -> float:
    """Return about how wide a line of text is [px], rather too wide than too narrow.

    Measured on the page's family, which is semi-condensed: its letters take 0.46 of their size on average.
    """
    thin = sum(shown.count(letter) for letter in "iljtf.,:;|!'()[] \u00a0")
    wide = sum(shown.count(letter) for letter in "mwMW%")
    figures = sum(letter.isdigit() for letter in shown)
    return size * (0.46 * (len(shown) - thin - wide - figures) + 0.51 * figures + 0.28 * thin + 0.74 * wide)


def scrolling(name: str, *content: str) -> str:
    """Return a drawing for wide pages that may be wider than the page and then scrolls sideways."""
    return tag("div", *content, class_="pl-wide pl-scroll", role="group", aria_label=f"{name}, scrolls sideways")


def table(name: str, head: Sequence[str], rows: Sequence[Sequence[str]], class_: str = "pl-hidden") -> str:
    """Return a table of plain words, by default for readers of the page who do not see the drawing."""
    heads = "".join(tag("th", words(cell), scope="col") for cell in head)
    body = "".join(
        tag("tr", tag("th", words(row[0]), scope="row"), *(tag("td", words(cell)) for cell in row[1:])) for row in rows
    )
    made = tag("table", tag("caption", words(name)), tag("thead", tag("tr", heads)), tag("tbody", body))
    return tag("div", made, class_=class_)
