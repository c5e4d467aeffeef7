"""The slitter: does a pattern fit, what do its rings weigh, how long does a coil take."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from twin.process.limits import above_zero, not_negative

# 1 nm, far below any measurable width: widths that were converted from other units may differ in the last digit.
_ROUNDING = 1e-9


class Slit(NamedTuple):
    """A slit coil: mass of each ring and of the trim [kg], trim as a share of the coil [1]."""

    ring_masses: tuple[float, ...]
    trim_mass: float
    trim_share: float


class SlitterTimes(NamedTuple):
    """What the parts of a slitter's cycle take.

    Attributes
    ----------
    load, thread, unload : Per coil. [s]
    speed : Of the running strip. [m/s]
    stop_start : Lost by braking and starting, per coil. [s]
    per_ring : Strapping and taking off, per ring. [s]
    crane_in : Bringing the coil, where the slitter waits for it. [s]
    """

    load: float
    thread: float
    unload: float
    speed: float
    stop_start: float
    per_ring: float
    crane_in: float = 0.0


def trim_share(width: float, rings: Sequence[float], *, edge_trim: float = 0.0) -> float:
    """Return the share of a coil's width that a pattern turns into trim [1].

    Parameters
    ----------
    width : Of the mother coil. [m]
    rings : Widths side by side. [m]
    edge_trim : Least that must come off each edge. [m]

    Raises
    ------
    ValueError : No ring, or rings and edge trims are together wider than the coil.
    """
    if not rings:
        raise ValueError("a pattern must have at least one ring")
    above_zero(width=width, narrowest_ring=min(rings))
    not_negative(edge_trim=edge_trim)
    needed = sum(rings) + 2.0 * edge_trim
    if needed > width + _ROUNDING:
        raise ValueError(
            f"the rings and edge trims add up to {needed * 1e3:g} mm, {(needed - width) * 1e3:g} mm more than the "
            f"{width * 1e3:g} mm strip: drop a ring, narrow one, or cast wider"
        )
    return max(0.0, 1.0 - sum(rings) / width)


def slit(mass: float, width: float, rings: Sequence[float], *, edge_trim: float = 0.0) -> Slit:
    """Return what a coil weighs when it is slit; rings and trim together weigh what the coil did.

    Parameters
    ----------
    mass : Of the coil. [kg]
    width : Of the coil. [m]
    rings : Widths side by side. [m]
    edge_trim : Least that must come off each edge. [m]
    """
    above_zero(mass=mass)
    trim = trim_share(width, rings, edge_trim=edge_trim)
    return Slit(tuple(mass * ring / width for ring in rings), mass * trim, trim)


def fitting_patterns(
    width: float, ring_widths: Sequence[float], *, edge_trim: float = 0.0, most_rings: int = 12
) -> tuple[tuple[float, ...], ...]:
    """Return the patterns that leave no room for one more of the widths, the least trim first.

    Parameters
    ----------
    width : Of the mother coil. [m]
    ring_widths : Widths that may be slit. [m]
    edge_trim : Least that must come off each edge. [m]
    most_rings : As many as the arbor or the recoiler takes. [1]
    """
    above_zero(width=width, narrowest_ring=min(ring_widths), most_rings=most_rings)
    not_negative(edge_trim=edge_trim)
    widths = sorted(set(ring_widths), reverse=True)
    found = list(_full(widths, width - 2.0 * edge_trim + _ROUNDING, most_rings, widths[-1]))
    return tuple(sorted(found, key=lambda pattern: (-round(sum(pattern), 9), len(pattern), pattern)))


def _full(widths: Sequence[float], room: float, places: int, narrowest: float) -> Iterator[tuple[float, ...]]:
    """Yield each way to fill the room from the widest ring down, until not even the narrowest fits."""
    if places == 0 or room < narrowest:
        yield ()
        return
    for place, ring in enumerate(widths):
        if ring <= room:
            for rest in _full(widths[place:], room - ring, places - 1, narrowest):
                yield (ring, *rest)


def cutting_time(length: float, speed: float, stop_start: float = 0.0) -> float:
    """Return the time that the strip runs through the knives, braking and starting included [s].

    Parameters
    ----------
    length : Of the strip. [m]
    speed : Of the running strip. [m/s]
    stop_start : Lost by braking and starting. [s]
    """
    above_zero(length=length, speed=speed)
    not_negative(stop_start=stop_start)
    return length / speed + stop_start


def cycle_time(length: float, rings: int, times: SlitterTimes) -> float:
    """Return the time from one coil to the next of the same pattern [s].

    Setting up for another pattern and the crane that takes the rings away are not in it.

    Parameters
    ----------
    length : Of the strip. [m]
    rings : Side by side. [1]
    times : What the parts of the cycle take.
    """
    above_zero(rings=rings)
    not_negative(
        load=times.load, thread=times.thread, unload=times.unload, per_ring=times.per_ring, crane_in=times.crane_in
    )
    handling = times.crane_in + times.load + times.thread + times.unload + times.per_ring * rings
    return handling + cutting_time(length, times.speed, times.stop_start)
