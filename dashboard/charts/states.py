"""How a state of a machine, or the state of a roll set, looks: colour, pattern, letter, word, always in this order.

The colours are names in the page's style sheet; what is written here is only which pattern and which letter.
"""

from dataclasses import dataclass

from dashboard.charts.svg import group, tag, text, words

UNKNOWN = "no_record"
MACHINE_STATES = ("running", "setup", "changing_rolls", "down", "waiting", "starved", "blocked", "closed")


@dataclass(frozen=True)
class Look:
    """The look of one state: its word, its letter, whether a pattern lies over its colour, its own line on a key."""

    word: str
    letter: str
    pattern: bool
    key: str = ""


LOOKS: dict[str, Look] = {
    "running": Look("running", "R", False),
    "setup": Look("setup", "S", True),
    "changing_rolls": Look("changing rolls", "C", True),
    "down": Look("down", "D", True),
    "waiting": Look("waiting", "W", True),
    "starved": Look("starved", "E", False, "starved (empty before it)"),
    "blocked": Look("blocked", "B", True),
    "closed": Look("closed", "", False),
    UNKNOWN: Look("no record", "?", False),
    # the places of a roll set
    "on_mill": Look("on the mill", "", False),
    "cooling": Look("cooling", "", True),
    "waits_grinder": Look("waits for the grinder", "W", True),
    "grinding": Look("grinding", "G", True),
    "fitting": Look("fitting, checking", "", False),
    "heating": Look("heating", "H", True),
    "ready": Look("ready", "", False),
}

_STROKES: dict[str, str] = {
    "setup": '<pattern id="{id}" width="7" height="7" patternUnits="userSpaceOnUse">'
    '<path d="M-1 -1L8 8M-1 6L1 8M6 -1L8 1" class="pl-fine"/></pattern>',
    "changing_rolls": '<pattern id="{id}" width="10" height="18" patternUnits="userSpaceOnUse">'
    '<circle cx="5" cy="5.5" r="1.8"/><circle cx="5" cy="12.5" r="1.8"/></pattern>',
    "down": '<pattern id="{id}" width="6" height="6" patternUnits="userSpaceOnUse">'
    '<path d="M-1 7L7 -1M-1 1L1 -1M5 7L7 5" class="pl-bold"/></pattern>',
    "waiting": '<pattern id="{id}" width="5" height="18" patternUnits="userSpaceOnUse">'
    '<path d="M2.5 0V18" class="pl-fine"/></pattern>',
    "blocked": '<pattern id="{id}" width="12" height="6" patternUnits="userSpaceOnUse">'
    '<path d="M0 0H12M0 6H12" class="pl-bar"/></pattern>',
    "cooling": '<pattern id="{id}" width="8" height="18" patternUnits="userSpaceOnUse">'
    '<path d="M4 0V18" class="pl-fine"/></pattern>',
    "grinding": '<pattern id="{id}" width="4" height="4" patternUnits="userSpaceOnUse">'
    '<circle cx="1" cy="1" r="0.75"/><circle cx="3" cy="3" r="0.75"/></pattern>',
    "heating": '<pattern id="{id}" width="12" height="6" patternUnits="userSpaceOnUse">'
    '<path d="M0 3H12" class="pl-fine"/></pattern>',
}
_SAME_STROKES = {"waits_grinder": "waiting"}


def known(state: str) -> str:
    """Return a state that has a look; a word nobody knows is shown as a missing record."""
    plain = state.strip().replace(" ", "_")
    return plain if plain in LOOKS else UNKNOWN


def css(state: str) -> str:
    """Return the class that gives an element the colours of a state."""
    return f"pl-{known(state).replace('_', '-')}"


def pattern_id(key: str, state: str) -> str:
    """Return the name of a pattern inside the drawing with this key."""
    return f"{key}-{_SAME_STROKES.get(state, state)}"


def patterns(key: str, states: tuple[str, ...] = MACHINE_STATES) -> str:
    """Return the patterns of a drawing. Each drawing holds its own: one that is not shown cannot lend them."""
    wanted = {_SAME_STROKES.get(state, state) for state in states}
    tiles = (
        f'<g class="{css(state)}">{strokes.format(id=pattern_id(key, state))}</g>'
        for state, strokes in _STROKES.items()
        if state in wanted
    )
    return tag("defs", *tiles)


def face(key: str, state: str, width: float | str, height: float) -> str:
    """Return the body of a state at the origin: its colour, over it the pattern, which starts at the body's corner."""
    if state == "closed":
        return tag("line", class_="pl-closed-line", x1=0, x2=width, y1=height / 2, y2=height / 2)
    body = tag("rect", class_="pl-face", width=width, height=height)
    if not LOOKS[known(state)].pattern:
        return body
    over = tag("rect", class_="pl-over", width=width, height=height, fill=f"url(#{pattern_id(key, known(state))})")
    return body + over


def letter(state: str, x: float, height: float) -> str:
    """Return the letter of a state around x on a block of its own colour, so that no stroke runs through it."""
    shown = LOOKS[known(state)].letter
    if not shown:
        return ""
    block = tag("rect", class_="pl-block", x=x - 5.5, y=height / 2 - 7, width=11, height=14)
    return (block if LOOKS[known(state)].pattern else "") + text(x, height / 2 + 4.3, shown, "pl-letter")


def chip_body(key: str, state: str, width: float = 18, height: float = 16) -> str:
    """Return what is inside a chip: colour, pattern, letter."""
    return face(key, known(state), width, height) + letter(state, width / 2, height)


def chip(key: str, state: str, width: float = 18, height: float = 16) -> str:
    """Return the block that names a state by colour, pattern and letter."""
    return group(chip_body(key, state, width, height), class_=f"pl-chip {css(state)}")


def _key_entry(key: str, state: str) -> str:
    look = LOOKS[state]
    drawn = group(chip_body(key, state, 26), class_=f"pl-chip {css(state)}")
    shown = tag("svg", drawn, width=28, height=16, class_="pl-key-mark", aria_hidden="true")
    return tag("li", shown, words(look.key or look.word))


def _extra_entry(drawn: str, word: str, width: float) -> str:
    return tag("li", tag("svg", drawn, width=width, height=16, class_="pl-key-mark", aria_hidden="true"), words(word))


def legend(
    states: tuple[str, ...] = MACHINE_STATES, *, key: str = "key", slowed: bool = True, limits: bool = True
) -> str:
    """Return the key to the states, in words; a page that draws states shows it once, near them."""
    entries = [_key_entry(key, known(state)) for state in states]
    if slowed:
        entries.append(_extra_entry('<rect class="pl-running" y="4" width="26" height="8"/>', "running, slowed", 28))
    if limits:
        path = '<path class="pl-limit-line" d="M0 12H15V4H33"/>'
        entries.append(_extra_entry(path, "what limits, moving", 35))
    tiles = tag("svg", patterns(key, states), width=0, height=0, class_="pl-tiles", aria_hidden="true")
    return tag("ul", *entries, class_="pl-key") + tiles
