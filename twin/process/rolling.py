"""The roll bite: can the rolls draw the strip in, and what force, torque and power does a pass take."""

from collections.abc import Sequence
from itertools import pairwise
from math import atan, cos, isfinite, log, pi, sqrt
from typing import NamedTuple

from twin.materials import Material
from twin.process.limits import above_zero, not_negative

# Forged steel rolls (common practice, no source): Young's modulus [Pa] and Poisson's ratio.
STEEL_MODULUS, STEEL_POISSON = 210e9, 0.3

_MOST_STEPS = 500


class Stand(NamedTuple):
    """What a mill stand brings to a pass.

    Attributes
    ----------
    roll_radius : Of a work roll. [m]
    friction : Between roll and strip. [1]
    force_limit, power_limit : Most that the stand bears and its drive gives; `None` where not known. [N], [W]
    roll_modulus, roll_poisson : Of the rolls; steel if left out. [Pa], [1]
    """

    roll_radius: float
    friction: float
    force_limit: float | None = None
    power_limit: float | None = None
    roll_modulus: float = STEEL_MODULUS
    roll_poisson: float = STEEL_POISSON


class Gap(NamedTuple):
    """The strip that goes through a pass: width, thickness before and after [m], strain it has already had [1]."""

    width: float
    thickness_in: float
    thickness_out: float
    strain_before: float = 0.0


class Load(NamedTuple):
    """What a pass asks of the stand.

    Attributes
    ----------
    force : Between the rolls. [N]
    torque : On each of the two rolls. [N m]
    power : Of both rolls together. [W]
    radius : Of the flattened work roll in the bite. [m]
    contact_length : With the flattened roll. [m]
    pressure : Mean, over the contact. [Pa]
    """

    force: float
    torque: float
    power: float
    radius: float
    contact_length: float
    pressure: float


def draft(thickness_in: float, thickness_out: float) -> float:
    """Return what a pass takes off the thickness [m].

    Parameters
    ----------
    thickness_in, thickness_out : Strip thickness before and after the pass. [m]

    Raises
    ------
    ValueError : The pass does not thin the strip.
    """
    above_zero(thickness_in=thickness_in, thickness_out=thickness_out)
    if thickness_out >= thickness_in:
        raise ValueError(
            f"a pass must thin the strip, but this one takes {thickness_in * 1e3:g} mm to {thickness_out * 1e3:g} mm"
        )
    return thickness_in - thickness_out


def contact_length(roll_radius: float, thickness_in: float, thickness_out: float) -> float:
    """Return the length of strip held between the rolls [m].

    The rolls are taken as rigid, so thin hard strip is held a little longer than this.

    Parameters
    ----------
    roll_radius : Radius of a work roll. [m]
    thickness_in, thickness_out : Strip thickness before and after the pass. [m]

    References
    ----------
    S. Kalpakjian and S. Schmid, Manufacturing Engineering and Technology, chapter 13.
    """
    above_zero(roll_radius=roll_radius)
    return sqrt(roll_radius * draft(thickness_in, thickness_out))


def largest_draft(friction: float, roll_radius: float) -> float:
    """Return the textbook's largest draft, mu2 R [m].

    For shallow bites; it promises more than `bite_limit` by about three quarters of mu2, 1.7 % at a friction of 0.15.

    Parameters
    ----------
    friction : Between roll and strip. [1]
    roll_radius : Radius of a work roll. [m]

    References
    ----------
    M. P. Groover, Fundamentals of Modern Manufacturing, rolling (from memory).
    """
    above_zero(friction=friction, roll_radius=roll_radius)
    return friction**2 * roll_radius


def bite_limit(friction: float, roll_radius: float) -> float:
    """Return the most that rolls can take off strip which they must draw in themselves [m].

    The angle of bite is at most the angle of friction: 2 R (1 - cos(atan mu)).

    Parameters
    ----------
    friction : Between roll and strip. [1]
    roll_radius : Radius of a work roll. [m]
    """
    above_zero(friction=friction, roll_radius=roll_radius)
    return 2.0 * roll_radius * (1.0 - cos(atan(friction)))


def fewest_passes(thickness_in: float, thickness_out: float, *, friction: float, roll_radius: float) -> int:
    """Return how many equal drafts the bite needs at least [1].

    Parameters
    ----------
    thickness_in, thickness_out : Before the first and after the last pass. [m]
    friction : Between roll and strip. [1]
    roll_radius : Radius of a work roll. [m]
    """
    return -int(-draft(thickness_in, thickness_out) // bite_limit(friction, roll_radius))


def check_bite(gap: Gap, stand: Stand) -> None:
    """Refuse a pass that the rolls cannot draw in.

    Raises
    ------
    ValueError : Names the draft, the largest one, and what would help.
    """
    taken = draft(gap.thickness_in, gap.thickness_out)
    most = bite_limit(stand.friction, stand.roll_radius)
    if taken > most:
        raise ValueError(
            f"the rolls cannot draw in {gap.thickness_in * 1e3:g} mm strip and make it {gap.thickness_out * 1e3:g} mm: "
            f"the draft is {taken * 1e3:.3g} mm, at most {most * 1e3:.3g} mm bite with a friction of "
            f"{stand.friction:g} and a roll radius of {stand.roll_radius * 1e3:g} mm; take less off in this pass"
        )


def true_strain(thickness_in: float, thickness_out: float) -> float:
    """Return the strain of a pass, ln(before / after) [1].

    Parameters
    ----------
    thickness_in, thickness_out : Strip thickness before and after the pass. [m]
    """
    draft(thickness_in, thickness_out)
    return log(thickness_in / thickness_out)


def mean_flow_stress(strength: float, hardening: float, strain: float, strain_before: float = 0.0) -> float:
    """Return the mean of the flow stress K strain^n over a pass [Pa].

    For strip without strain before it this is K strain^n / (1 + n). Cold strip keeps its strain from pass to pass;
    warm zinc loses much of it, so for zinc the sum overstates the stress.

    Parameters
    ----------
    strength, hardening : K and n. [Pa], [1]
    strain : Of this pass. [1]
    strain_before : That the strip has had since it was last soft. [1]

    References
    ----------
    M. P. Groover, Fundamentals of Modern Manufacturing, rolling (from memory).
    """
    above_zero(strength=strength, strain=strain)
    not_negative(hardening=hardening, strain_before=strain_before)
    power = hardening + 1.0
    grown: float = (strain_before + strain) ** power - strain_before**power
    return strength * grown / (power * strain)


def hitchcock(stand: Stand) -> float:
    """Return how much a steel roll flattens: 16 (1 - nu2) / (pi E) [1/Pa].

    References
    ----------
    Hitchcock 1935, in W. L. Roberts, Cold Rolling of Steel (from memory).
    """
    above_zero(roll_modulus=stand.roll_modulus)
    return 16.0 * (1.0 - stand.roll_poisson**2) / (pi * stand.roll_modulus)


def roll_force(gap: Gap, flow_stress: float, stand: Stand, *, flatten: bool = True, hill: bool = False) -> float:
    """Return the force between the rolls [N].

    Parameters
    ----------
    gap : The strip that goes through.
    flow_stress : Mean over the pass. [Pa]
    stand : Rolls and friction.
    flatten : Whether the roll flattens (Hitchcock), which lengthens the contact.
    hill : Whether friction raises the pressure by 1 + mu L / (2 h); thin strip asks for it (Kalpakjian and Schmid,
        chapter 13, from memory). Without it the force of thin strip is understated.
    """
    return _bite(gap, flow_stress, stand, flatten=flatten, hill=hill).force


def pass_load(
    gap: Gap, metal: Material, stand: Stand, *, speed: float = 0.0, flatten: bool = True, hill: bool = True
) -> Load:
    """Return what a pass asks of the stand, or say why it cannot be.

    The lever arm of the force is taken as half the contact length.

    Parameters
    ----------
    gap : The strip that goes through.
    metal : Its strength.
    stand : Rolls, friction and limits.
    speed : Of the roll surface. [m/s]
    flatten, hill : As for `roll_force`.

    Raises
    ------
    ValueError : The rolls cannot draw the strip in, or force or power passes a limit.
    """
    check_bite(gap, stand)
    not_negative(speed=speed)
    strain = true_strain(gap.thickness_in, gap.thickness_out)
    stress = mean_flow_stress(metal.strength, metal.hardening, strain, gap.strain_before)
    bite = _bite(gap, stress, stand, flatten=flatten, hill=hill)
    load = bite._replace(power=2.0 * bite.torque * speed / stand.roll_radius)
    _within(gap, load, stand)
    return load


def schedule_loads(width: float, thicknesses: Sequence[float], metal: Material, stand: Stand) -> tuple[Load, ...]:
    """Return the load of each pass of a schedule, the strain adding up from pass to pass, standing still (no power).

    Parameters
    ----------
    width : Of the strip. [m]
    thicknesses : Entry thickness, then the exit of each pass. [m]
    metal : Its strength.
    stand : Rolls, friction and limits.
    """
    loads = []
    for thick, thin in pairwise(thicknesses):
        before = log(thicknesses[0] / thick)
        loads.append(pass_load(Gap(width, thick, thin, before), metal, stand))
    return tuple(loads)


def _bite(gap: Gap, flow_stress: float, stand: Stand, *, flatten: bool, hill: bool) -> Load:
    """Let roll and pressure settle: the force flattens the roll, the flatter roll holds more strip."""
    above_zero(flow_stress=flow_stress, width=gap.width)
    taken = draft(gap.thickness_in, gap.thickness_out)
    mean_thickness = (gap.thickness_in + gap.thickness_out) / 2.0
    give = hitchcock(stand) * stand.roll_radius / (gap.width * taken) if flatten else 0.0
    radius = stand.roll_radius
    for _ in range(_MOST_STEPS):
        length = sqrt(radius * taken)
        pressure = flow_stress * (1.0 + stand.friction * length / (2.0 * mean_thickness) if hill else 1.0)
        force = pressure * gap.width * length
        flattened = stand.roll_radius + give * force
        if abs(flattened - radius) <= 1e-12 * radius:
            return Load(force, 0.5 * force * length, 0.0, radius, length, pressure)
        radius = flattened
        if not isfinite(radius):
            break
    raise ValueError(
        f"rolls of {stand.roll_radius * 1e3:g} mm radius flatten without end on {gap.thickness_in * 1e3:g} mm strip: "
        f"they cannot make it {gap.thickness_out * 1e3:g} mm; use smaller rolls, less friction or a larger draft"
    )


def _within(gap: Gap, load: Load, stand: Stand) -> None:
    rolled = f"rolling {gap.thickness_in * 1e3:g} mm strip to {gap.thickness_out * 1e3:g} mm"
    if stand.force_limit is not None and load.force > stand.force_limit:
        raise ValueError(
            f"{rolled} takes {load.force / 1e6:.3g} MN, but the mill bears {stand.force_limit / 1e6:.3g} MN: "
            "take less off in this pass"
        )
    if stand.power_limit is not None and load.power > stand.power_limit:
        raise ValueError(
            f"{rolled} takes {load.power / 1e3:.4g} kW, but the drive gives {stand.power_limit / 1e3:.4g} kW: "
            "roll slower or take less off in this pass"
        )
