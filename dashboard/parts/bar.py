"""The bar under the page names in words: what is chosen, and how the run stands."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass

from dashboard.ask import Ask
from dashboard.charts.moments import winding_coil
from dashboard.drive import Standing
from dashboard.parts.amounts import Units, half_width

LEAST_TOLD_S = 3.0
AGO = ((90.0, 1.0, "s"), (5400.0, 60.0, "min"), (129_600.0, 3600.0, "h"), (float("inf"), 86_400.0, "days"))


@dataclass(frozen=True, slots=True)
class Bar:
    """What the bar shows of a run, in the order of its outputs."""

    words: str
    coil: str
    coil_hidden: bool
    stop_hidden: bool
    go_on_hidden: bool
    again_hidden: bool
    said: str
    poll_off: bool


def ago(seconds: float) -> str:
    """Return how long ago something was, in one whole number."""
    if seconds < 10:
        return "just now"
    size, unit = next((size, unit) for limit, size, unit in AGO if seconds < limit)
    return f"{seconds / size:.0f} {unit} ago"


def minutes_or_seconds(seconds: float) -> str:
    """Return a waiting time in one whole number."""
    return f"{seconds:.0f} s" if seconds < 90.0 else f"{seconds / 60.0:.0f} min"


def clock(made: float) -> str:
    """Return the time of day at which an answer was made, by the server's clock."""
    return time.strftime("%H:%M", time.localtime(made))


def progress_words(standing: Standing, units: Units) -> str:
    """Return how far the run is, in its own words where it says so."""
    view = standing.view
    if view.state == "waits":
        return "waits: another run has the machine"
    if "wanted" not in view.data:
        return "stops" if view.state == "stopping" else "starts"
    half = view.data.get("half")
    so_far = f", ± {half_width(half, units)} so far" if half is not None else ""
    left = view.data.get("left_s") or 0.0
    to_go = f", {minutes_or_seconds(left)} to go" if left >= LEAST_TOLD_S and view.state == "running" else ""
    ending = "; it stops after this one" if view.state == "stopping" else ""
    if view.data.get("said"):
        return f"{view.data['said']}{to_go}{ending}"
    what = f"{view.data['what']}: " if view.data.get("what") else ""
    return (
        f"{what}{view.data['done']} of {view.data['wanted']} {view.data.get('of', 'runs wound')}{so_far}{to_go}{ending}"
    )


def end_words(standing: Standing, units: Units, now: float) -> str:
    """Return when the answer was made and how sure it is."""
    answer = standing.answer
    if answer is None:
        ended = standing.kind == "plain" and standing.view.state in ("stopped", "done")
        return "stopped before there was an answer" if ended else ""
    half = answer.get("half")
    sure = f", ± {half_width(half, units)}" if half is not None else ""
    if standing.stopped:
        so_far = answer.get("so_far") or f"after {answer['done']} of {answer['wanted']} runs"
        return f"stopped {so_far}{sure}"
    return f"last run {ago(now - answer['made'])}{sure}"


def bar(standing: Standing, units: Units, now: float | None = None) -> Bar:
    """Return the state of the bar's right end."""
    view, answer = standing.view, standing.answer
    if view.going:
        done, wanted = view.data.get("done", 0), view.data.get("wanted", 1)
        words = progress_words(standing, units)
        return Bar(
            words,
            winding_coil(done / wanted, count=f"{done}", size=34),
            False,
            view.state != "running",
            True,
            True,
            "",
            False,
        )
    share = answer["done"] / answer["wanted"] if answer and standing.stopped else 0.0
    coil = winding_coil(share, count=f"{answer['done']}", size=34) if answer and share else ""
    words = end_words(standing, units, time.time() if now is None else now)
    stopped = standing.stopped
    again = standing.kind == "plain" and not stopped
    said = "" if answer is None else "The run has stopped." if stopped else "The answer is whole."
    return Bar(words, coil, not coil, True, not stopped, not again, said, True)


def options_words(options: Sequence[str]) -> str:
    """Return the chosen options in one word or two."""
    if not options:
        return "today"
    return options[0] if len(options) == 1 else f"{len(options)} together"


def beside_words(ask: Ask) -> str:
    """Return what stands beside today where options are compared, in a word or two."""
    count = len(ask.options) + len(ask.sums) + len(ask.sets)
    return f"{count} beside today" if count else "what helps"


def runs_words(ask: Ask) -> str:
    """Return the number of runs, and the seed when it is not the usual one."""
    return f"{ask.runs}" if ask.seed == Ask().seed else f"{ask.runs}, seed {ask.seed}"
