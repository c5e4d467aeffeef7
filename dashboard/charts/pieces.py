"""The states of a machine along time, as pieces that can be seen.

A week is some 900 px wide, so a pixel is 11 minutes, and what is shorter cannot be drawn to scale. Roll changes and
stops are kept down to 0.4 px and drawn 2.5 px wide. Anything else shorter than a pixel is drawn as what lies around it.
Where only short things follow each other (a coil change every quarter of an hour) they are drawn as fewer and longer
pieces that keep the share of each.
"""

from dataclasses import dataclass

from dashboard.charts.moment import before
from dashboard.charts.week import SLOWED, STATES, Week

SHORTEST_PX, CHUNK_PX = 1.0, 4.0
LEAST_PX = {"C": 0.4, "D": 0.4, "-": 1.0}
SAFE_PX = 2.5
"""What is at least so wide, or as wide as LEAST_PX says for its code, is drawn as it is. [px]"""
LETTER_PX = 15.0


@dataclass(frozen=True)
class Piece:
    """A stretch of one state, in seconds of the packed week."""

    start: float
    end: float
    code: str

    @property
    def length(self) -> float:
        """How long it lasts [s]."""
        return self.end - self.start

    @property
    def state(self) -> str:
        """The state it shows."""
        return STATES[self.code]

    @property
    def slowed(self) -> bool:
        """Whether the machine runs slower than it could."""
        return self.code == SLOWED


def pieces(week: Week, machine: int, start: float = 0.0, end: float | None = None) -> list[Piece]:
    """Return the states of a machine between two times, those of equal look that touch made one."""
    packed = week["machines"][machine]
    stop = float(week["length"]) if end is None else end
    times = [*packed["t"], week["length"]]
    found = [
        Piece(max(start, times[i]), min(stop, times[i + 1]), packed["s"][i])
        for i in range(before(packed["t"], start), len(packed["t"]))
        if times[i] < stop
    ]
    return merged([piece for piece in found if piece.length > 0])


def merged(found: list[Piece]) -> list[Piece]:
    """Return pieces with neighbours of one look joined."""
    joined: list[Piece] = []
    for piece in found:
        if joined and joined[-1].code == piece.code and joined[-1].end >= piece.start:
            joined[-1] = Piece(joined[-1].start, piece.end, piece.code)
        else:
            joined.append(piece)
    return joined


def _shared_out(group: list[Piece], chunk: float) -> list[Piece]:
    """Return a run of short pieces as a few longer ones that keep the share of each state."""
    start, end = group[0].start, group[-1].end
    count = max(1, round((end - start) / chunk))
    cuts = [start + (end - start) * i / count for i in range(count + 1)]
    due: dict[str, float] = {}
    made = []
    for left, right in zip(cuts, cuts[1:], strict=False):
        for piece in group:
            inside = min(right, piece.end) - max(left, piece.start)
            if inside > 0:
                due[piece.code] = due.get(piece.code, 0.0) + inside
        most = max(due, key=lambda code: due[code])
        due[most] -= right - left
        made.append(Piece(left, right, most))
    return made


def visible(found: list[Piece], pixel_s: float) -> list[Piece]:
    """Return what can be seen of pieces where one pixel is so many seconds."""
    kept: list[Piece] = []
    short: list[Piece] = []

    def settle() -> None:
        """Draw the run of short pieces that just ended, or let its neighbour cover it."""
        if not short:
            return
        if short[-1].end - short[0].start < SHORTEST_PX * pixel_s and kept:
            kept[-1] = Piece(kept[-1].start, short[-1].end, kept[-1].code)
        else:
            kept.extend(short if len(short) == 1 else _shared_out(short, CHUNK_PX * pixel_s))
        short.clear()

    for piece in merged(found):
        if piece.length < LEAST_PX.get(piece.code, SAFE_PX) * pixel_s:
            short.append(piece)
            continue
        settle()
        kept.append(piece)
    settle()
    return merged(kept)


def hours_of(found: list[Piece]) -> dict[str, float]:
    """Return the hours of each state."""
    total: dict[str, float] = {}
    for piece in found:
        total[piece.state] = total.get(piece.state, 0.0) + piece.length / 3600.0
    return total
