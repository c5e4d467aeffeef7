"""How numbers read: `619 ± 12 t/week`, the same on the terminal, on the pages and on paper.

A number is rounded by its half-width: two digits of the half-width are kept while its first three
are between 100 and 354, else one, and the mean is rounded to the same place. That is the rounding rule of the
Particle Data Group (Review of Particle Physics, introduction, section 5.3 "Rounding").
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import ROUND_HALF_EVEN, Decimal
from math import floor, isfinite, log10
from typing import Any

NO_BREAK = "\u00a0"
THIN = "\u202f"
MINUS = "\u2212"
PLUS_MINUS = "\u00b1"
NEVER = "never"
NOT_ASKED = "\u2013"

NOTHING = 1e-12  # a half-width of so little of the mean is the rounding of sums, not scatter
MEAN_DIGITS = 3  # digits kept of a number that comes without an interval


def places_for(half: float) -> int:
    """Return how many decimals a half-width deserves; negative for tens and hundreds.

    Zero or not a number has no say and gives 0.
    """
    if not isfinite(half) or half <= 0.0:
        return 0
    exponent = floor(log10(half))
    leading = round(half / 10.0 ** (exponent - 2))
    if leading >= 1000:  # rounded up into the next ten
        exponent, leading = exponent + 1, 100
    return 1 - exponent if leading < 355 else -exponent


def places_alone(value: float) -> int:
    """Return how many decimals leave three digits of a number that has no interval, never fewer than 0."""
    if not isfinite(value) or value == 0.0:
        return 0
    return max(0, MEAN_DIGITS - 1 - floor(log10(abs(value))))


def plain(value: float, places: int = 0, *, sign: bool = False) -> str:
    """Write a number with `places` decimals, thin-space thousands and a true minus; `sign` shows the plus too."""
    rounded = Decimal(repr(float(value))).quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_EVEN)
    text = f"{abs(rounded):,.{max(0, places)}f}".replace(",", THIN)
    if rounded < 0:
        return MINUS + text
    return "+" + text if sign else text


def number(
    mean: float | None, half: float | None = None, unit: str = "", *, sign: bool = False, places: int | None = None
) -> str:
    """Write `619 ± 12 t/week`; without a half-width `619 t/week`; a missing mean is a dash.

    `places` rounds alike what stands in one sentence or column.
    """
    if mean is None or not isfinite(mean):
        return NOT_ASKED
    if half is not None and half <= NOTHING * abs(mean):
        half = 0.0
    if places is None:
        places = places_for(half) if half else places_alone(mean)
    text = plain(mean, places, sign=sign)
    if half is not None and isfinite(half):
        text += f"{NO_BREAK}{PLUS_MINUS}{NO_BREAK}{plain(half, places)}"
    return text + (NO_BREAK + unit if unit else "")


def uneven(mean: float, low: float, high: float, unit: str = "") -> str:
    """Write `110 (96 to 127) km`, for an interval that is not the same on both sides."""
    places = places_for(max(high - mean, mean - low))
    text = f"{plain(mean, places)}{NO_BREAK}({plain(low, places)}{NO_BREAK}to{NO_BREAK}{plain(high, places)})"
    return text + (NO_BREAK + unit if unit else "")


def share(mean: float | None, half: float | None = None) -> str:
    """Write a share of 0 to 1 in whole per cent: `55 ± 7 %`."""
    if mean is None or not isfinite(mean):
        return NOT_ASKED
    return number(100.0 * mean, None if half is None else 100.0 * half, "%", places=0)


def chance(part: int, of: int) -> str:
    """Write a chance as a count: `18 of 20`."""
    return f"{part}{NO_BREAK}of{NO_BREAK}{of}"


def half_width(indicator: Mapping[str, Any]) -> float | None:
    """Return the half-width of an indicator, or nothing where it comes from one run."""
    low, high = indicator["low"], indicator["high"]
    return None if low is None or high is None else (high - low) / 2.0


def indicator(
    value: Mapping[str, Any],
    unit: str | None = None,
    *,
    scale: float = 1.0,
    sign: bool = False,
    places: int | None = None,
) -> str:
    """Write an indicator of the results: its mean and half-width times `scale`, in `unit` or its own.

    The unit 1 of a share is not written.
    """
    own = value["unit"] if unit is None else unit
    half = half_width(value)
    mean = value["mean"]
    return number(
        None if mean is None else scale * mean,
        None if half is None else scale * half,
        "" if own == "1" else own,
        sign=sign,
        places=places,
    )
