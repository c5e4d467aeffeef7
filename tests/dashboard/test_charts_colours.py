"""The colours of the drawings: contrast, and whether states can be told apart, computed from the style sheets."""

import re
from collections.abc import Iterator
from itertools import combinations
from math import dist
from pathlib import Path

import pytest

ASSETS = Path(__file__).parents[2] / "dashboard" / "assets"
STATES = ("running", "setup", "changing-rolls", "down", "waiting", "starved", "blocked")
THEMES = ("light", "dark")
Matrix = tuple[tuple[float, float, float], ...]

# Machado, Oliveira and Fernandes, A physiologically-based model for simulation of color vision deficiency,
# IEEE Transactions on Visualization and Computer Graphics 15 (2009): matrices for full severity, on linear RGB
VISION: dict[str, Matrix] = {
    "full colour vision": ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
    "no red cones": ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998)),
    "no green cones": ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.01182, 0.04294, 0.968881)),
    "no blue cones": ((1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602), (0.004733, 0.691367, 0.3039)),
}
# IEC 61966-2-1: linear sRGB to CIE XYZ, and its white point D65
TO_XYZ: Matrix = ((0.4124, 0.3576, 0.1805), (0.2126, 0.7152, 0.0722), (0.0193, 0.1192, 0.9505))
WHITE = (0.9505, 1.0, 1.089)


def tokens(theme: str) -> dict[str, str]:
    """Return the colours of a theme by name; what the dark theme does not say it has from the light one."""
    sheet = (ASSETS / "tokens.css").read_text(encoding="utf-8")
    light = sheet[sheet.index(":root {") : sheet.index("@media")]
    dark = sheet[sheet.index('data-theme="dark"') : sheet.index("@media print")]
    found = dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", light))
    return found | dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", dark)) if theme == "dark" else found


def linear(colour: str) -> tuple[float, ...]:
    """Return the linear parts of an sRGB colour (IEC 61966-2-1)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    return tuple(part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)


def applied(matrix: Matrix, vector: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(sum(a * b for a, b in zip(row, vector, strict=True)) for row in matrix)


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours: WCAG 2.2, relative luminance and contrast ratio."""
    weights = (0.2126, 0.7152, 0.0722)
    dim, bright = sorted(sum(w * v for w, v in zip(weights, linear(c), strict=True)) for c in (one, other))
    return (bright + 0.05) / (dim + 0.05)


def lab(colour: tuple[float, ...]) -> tuple[float, ...]:
    """Return CIE L*a*b* of a linear sRGB colour (CIE 15)."""
    x, y, z = (
        t ** (1 / 3) if t > (6 / 29) ** 3 else t / (3 * (6 / 29) ** 2) + 4 / 29
        for t in (v / w for v, w in zip(applied(TO_XYZ, colour), WHITE, strict=True))
    )
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def seen(colour: str, vision: str) -> tuple[float, ...]:
    """Return L*a*b* of a colour as it is seen with a vision."""
    return lab(tuple(min(1.0, max(0.0, part)) for part in applied(VISION[vision], linear(colour))))


def distances(theme: str, vision: str) -> Iterator[tuple[str, str, float]]:
    """Yield the CIE 1976 difference of every pair of states."""
    colours = tokens(theme)
    for one, other in combinations(STATES, 2):
        yield one, other, dist(seen(colours[one], vision), seen(colours[other], vision))


def test_contrast_is_computed_as_published() -> None:
    """WCAG: black on white is 21:1; #767676 on white is the grey that just passes 4.5 (W3C, G18, from memory)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


def test_lab_is_computed_as_published() -> None:
    """sRGB red is L* 53.24, a* 80.09, b* 67.20 under D65 (the value usually tabulated; from memory)."""
    assert seen("#ff0000", "full colour vision") == pytest.approx((53.24, 80.09, 67.20), abs=0.03)


@pytest.mark.parametrize("vision", VISION)
def test_a_vision_leaves_white_white(vision: str) -> None:
    assert seen("#ffffff", vision) == pytest.approx((100.0, 0.0, 0.0), abs=0.05)


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("word", ["ink", "ink2", "ink3"])
def test_words_in_drawings_can_be_read(theme: str, word: str) -> None:
    """WCAG 2.2, 1.4.3: 4.5:1 for text."""
    assert contrast(tokens(theme)[word], tokens(theme)["paper"]) >= 4.5


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("state", STATES)
def test_the_letter_of_a_state_can_be_read_on_its_block(theme: str, state: str) -> None:
    colours = tokens(theme)
    assert contrast(colours[f"{state}-letter"], colours[state]) >= 4.5


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("state", STATES)
def test_every_state_stands_out_by_its_body_or_its_edge(theme: str, state: str) -> None:
    """WCAG 2.2, 1.4.11: 3:1 for what must be seen; pale states have an edge for it."""
    colours = tokens(theme)
    edge = {"setup": "state-edge", "changing-rolls": "state-edge", "starved": "starved-edge"}.get(state, state)
    assert max(contrast(colours[edge], colours["paper"]), contrast(colours[state], colours["paper"])) >= 3.0


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("line", ["metal", "line2"])
def test_metal_and_frames_can_be_seen(theme: str, line: str) -> None:
    assert contrast(tokens(theme)[line], tokens(theme)["paper"]) >= 3.0


def test_figures_on_metal_can_be_read_in_both_themes() -> None:
    """The figure on a bar of metal is ink on light pages and paper on dark ones."""
    assert contrast(tokens("light")["ink"], tokens("light")["metal"]) >= 4.5
    assert contrast(tokens("dark")["paper"], tokens("dark")["metal"]) >= 4.5


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("vision", VISION)
def test_no_two_states_look_alike(theme: str, vision: str) -> None:
    """CIE 1976: about 2.3 is just noticed (Mahy and others, 1994, from memory); here it is five times that."""
    one, other, least = min(distances(theme, vision), key=lambda found: found[2])

    assert least >= 5 * 2.3, f"{one} and {other} differ by {least:.1f} for someone with {vision} in {theme}"


def test_the_measure_finds_two_states_that_look_alike() -> None:
    """A red and an olive of one brightness, told apart by full vision only."""
    pair = ("#8f4a22", "#6b6a22")
    full, weak = (
        dist(*(seen(colour, vision) for colour in pair)) for vision in ("full colour vision", "no green cones")
    )

    assert weak < 5 * 2.3 < full


def test_drawings_write_no_colour_of_their_own() -> None:
    sheet = (ASSETS / "drawings.css").read_text(encoding="utf-8")
    bare = re.sub(r"/\*.*?\*/", "", sheet, flags=re.S)

    assert re.findall(r"#[0-9a-fA-F]{3,8}\b|rgba?\(|hsl|\b(?:white|black|gray|grey|red|blue)\b(?!-)", bare) == []


def test_every_name_the_drawings_use_is_in_the_tokens() -> None:
    sheet = (ASSETS / "drawings.css").read_text(encoding="utf-8")
    own = {"c", "l", "e", "share"}

    assert set(re.findall(r"var\(--([\w-]+)", sheet)) - own <= set(tokens("light"))
