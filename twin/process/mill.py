"""The mill: a coil's way through the passes, its time, and the kilometres that the rolls see."""

from collections.abc import Sequence
from typing import NamedTuple

from twin.process.coil import rolled_length, strip_length
from twin.process.limits import above_zero, not_negative, share


class Strip(NamedTuple):
    """A coil as it enters the mill: mass [kg], width and thickness [m], density [kg/m3]."""

    mass: float
    width: float
    thickness: float
    density: float


class Pass(NamedTuple):
    """One pass as it is set: exit thickness [m] and the exit speed that it may reach [m/s]."""

    thickness: float
    speed: float


class PassResult(NamedTuple):
    """One pass as it comes out.

    Attributes
    ----------
    thickness_in, thickness_out : [m]
    reduction : Share of the thickness taken off. [1]
    length : Of the strip behind the rolls. [m]
    time : That the strip runs. [s]
    """

    thickness_in: float
    thickness_out: float
    reduction: float
    length: float
    time: float


class Schedule(NamedTuple):
    """A coil's way through the mill.

    Attributes
    ----------
    time : Of all passes, each with what follows it; loading and unloading are not in it. [s]
    bite_length : Strip that the work rolls have seen: the exit lengths of all passes together. [m]
    out_length, out_mass, crop_mass : After the ends are cropped. [m], [kg], [kg]
    passes : One by one.
    """

    time: float
    bite_length: float
    out_length: float
    out_mass: float
    crop_mass: float
    passes: tuple[PassResult, ...]


def schedule(
    strip: Strip,
    passes: Sequence[Pass],
    *,
    speed_factor: float = 1.0,
    between_passes: float = 0.0,
    crop: float = 0.0,
) -> Schedule:
    """Return how a coil is rolled down, pass by pass, at constant width.

    Parameters
    ----------
    strip : The coil as it enters.
    passes : In their order.
    speed_factor : Mean speed over the speed that a pass may reach; threading and braking take the rest. [1]
    between_passes : Lost after every pass, the last one too. [s]
    crop : Share of the coil cropped at the ends after the last pass; the rolls have seen it. [1]

    Raises
    ------
    ValueError : A pass does not thin the strip, or a quantity cannot be.
    """
    above_zero(speed_factor=speed_factor)
    not_negative(between_passes=between_passes)
    share(crop=crop)
    results = _roll(strip, passes, speed_factor)
    return Schedule(
        time=sum(result.time for result in results) + between_passes * len(results),
        bite_length=sum(result.length for result in results),
        out_length=results[-1].length * (1.0 - crop),
        out_mass=strip.mass * (1.0 - crop),
        crop_mass=strip.mass * crop,
        passes=results,
    )


def throughput(out_mass: float, time: float) -> float:
    """Return what leaves the mill while it runs [kg/s].

    Parameters
    ----------
    out_mass : Of one coil, cropped. [kg]
    time : From one coil to the next, handling included. [s]
    """
    above_zero(out_mass=out_mass, time=time)
    return out_mass / time


def coils_within(limit: float, bite_length: float) -> float:
    """Return the coils that a roll campaign holds [1].

    Parameters
    ----------
    limit : Kilometres that the rolls may see, in metres. [m]
    bite_length : Of one coil. [m]
    """
    above_zero(limit=limit, bite_length=bite_length)
    return limit / bite_length


def _roll(strip: Strip, passes: Sequence[Pass], speed_factor: float) -> tuple[PassResult, ...]:
    if not passes:
        raise ValueError("a mill needs at least one pass")
    thickness = strip.thickness
    length = strip_length(strip.mass, strip.width, strip.thickness, strip.density)
    results = []
    for number, step in enumerate(passes, start=1):
        above_zero(**{f"exit thickness of pass {number}": step.thickness, f"speed of pass {number}": step.speed})
        if step.thickness >= thickness:
            raise ValueError(
                f"pass {number} must thin the strip, but takes {thickness * 1e3:g} mm to {step.thickness * 1e3:g} mm: "
                "put the passes in falling thickness, below that of the strip that enters"
            )
        length = rolled_length(length, thickness, step.thickness)
        time = length / (step.speed * speed_factor)
        results.append(PassResult(thickness, step.thickness, 1.0 - step.thickness / thickness, length, time))
        thickness = step.thickness
    return tuple(results)
