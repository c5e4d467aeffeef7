"""Where the planner stands: how far each pattern is behind its share, by what was planned before.

The planner gives the next coil to the pattern furthest behind its share. A log does not tell how far each was behind
when it began; but which patterns were then chosen bounds that, coil by coil. What fits them best is found by moving the
two patterns that a choice contradicts towards each other until the choices are those of the log (the perceptron rule,
F. Rosenblatt 1958, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

PASSES = 80
STEP, SLOWER = 0.4, 0.3  # coils in the first pass; in pass n that over 1 + 0.3 n
TIE = 1e-9


@dataclass(frozen=True, slots=True)
class Behind:
    """Where the planner stands after some coils.

    Attributes
    ----------
    coils : Of each pattern, how many coils it is behind its share.
    chosen : The pattern of each coil, by its place; those that the log does not tell by the rule.
    missed : Share of the told coils that the rule would have chosen otherwise.
    """

    coils: tuple[float, ...]
    chosen: tuple[int, ...]
    missed: float


def behind_after(
    shares: Sequence[float], told: Sequence[Sequence[int]], held: Sequence[int] = (), *, fit: bool = True
) -> Behind:
    """Return where the planner stands after coils of which the log tells which patterns they may be for.

    Parameters
    ----------
    shares : Of each pattern, of all coils; 0 for one that is never planned.
    told : Of each coil the patterns that it may be for, in the order of planning: one where it is known.
    held : The patterns that the planner passes over at times: that one of them was not chosen says nothing.
    fit : Whether to find how far each was behind at first; else none was.
    """
    first = [0.0] * len(shares)
    best = found = _along(shares, told, held, first)
    for number in range(PASSES if fit else 0):
        if not best.wrong:
            break
        first = [a + STEP / (1.0 + SLOWER * number) * b for a, b in zip(first, found.pull, strict=True)]
        found = _along(shares, told, held, first)
        best = found if found.wrong < best.wrong else best
    known = sum(len(one) == 1 for one in told)
    return Behind(tuple(best.coils), tuple(best.chosen), best.wrong / known if known else 0.0)


@dataclass(frozen=True, slots=True)
class _Way:
    coils: list[float]
    chosen: list[int]
    wrong: int
    pull: list[float]


def _along(shares: Sequence[float], told: Sequence[Sequence[int]], held: Sequence[int], first: Sequence[float]) -> _Way:
    """Go through the coils from where the patterns stood at first, and note where the rule chooses otherwise."""
    behind, pull, chosen, wrong = list(first), [0.0] * len(shares), list[int](), 0
    able = [place for place, share in enumerate(shares) if share > 0.0]
    sure = [place for place in able if place not in held] or able
    for may in told:
        for place in able:
            behind[place] += shares[place]
        if len(may) == 1:
            own, rule = may[0], furthest(behind, sure)
            if own != rule and behind[own] < behind[rule] - TIE:
                wrong += 1
                pull[own] += 1.0
                pull[rule] -= 1.0
        else:
            own = furthest(behind, may or able)
        behind[own] -= 1.0
        chosen.append(own)
    count = max(1, wrong)
    return _Way(behind, chosen, wrong, [one / count for one in pull])


def furthest(behind: Sequence[float], among: Sequence[int]) -> int:
    """Return the pattern that is furthest behind its share; the first of those that are alike."""
    return max(among, key=lambda place: (behind[place], -place))
