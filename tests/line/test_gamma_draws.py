"""Gamma draws come from a table: held against the inverse of an independent library."""

import numpy as np
import pytest
from scipy.special import gammaincinv

from twin.line.streams import scale
from twin.scenario.laws import Gamma


@pytest.mark.parametrize("cv", [0.05, 0.3, 0.7, 1.0, 1.5, 1.8, 2.5])
def test_gamma_draws_are_the_inverse_of_the_law(cv: float) -> None:
    """The judge is SciPy's gammaincinv; the table must be within 1e-8 of the mean, tails included."""
    unit = np.concatenate([np.linspace(1e-6, 1.0 - 1e-6, 20_001), [1e-12, 1e-9, 1.0 - 1e-9, 1.0 - 1e-12]])
    shape = 1.0 / cv**2

    drawn = scale(Gamma(mean=2.0, cv=cv, dimension="time"), unit)

    assert np.max(np.abs(drawn - 2.0 / shape * gammaincinv(shape, unit))) < 1e-8 * 2.0


def test_larger_chances_give_larger_gamma_draws() -> None:
    unit = np.linspace(1e-9, 1.0 - 1e-9, 50_001)

    assert np.all(np.diff(scale(Gamma(mean=1.0, cv=0.7, dimension="time"), unit)) > 0.0)
