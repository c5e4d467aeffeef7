"""The bar under the line that plays the week: a button, a slider that keys move too, the time in words."""

from dashboard.charts.moment import time_text
from dashboard.charts.svg import number, tag, words
from dashboard.charts.week import Week

STEP_S = 600
"""The least step of the slider. [s]"""


def play_bar(week: Week, at_s: float = 0.0, *, word: str = "Play the week", slider: str = "Time in the week") -> str:
    """Return the bar that moves everything drawn of this packed week."""
    shown = time_text(week, at_s)
    share = f"--share:{number(100.0 * at_s / week['length'])}%"
    button = tag("button", words(word), type="button", class_="pl-play-button", aria_pressed="false", data_word=word)
    bounds = {"min": 0, "max": week["length"], "step": STEP_S, "value": round(at_s)}
    said = {"aria_label": slider, "aria_valuetext": shown, "style": share}
    moves = tag("input", type="range", class_="pl-play-slider", **said, **bounds)
    time = tag("output", words(shown), class_="pl-play-time")
    return tag("div", button, moves, time, class_="pl-play", data_play=week["key"])
