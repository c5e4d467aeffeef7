import math
from collections.abc import Callable, Mapping
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from twin.scenario.faults import Refusal
from twin.scenario.law_text import parse_law
from twin.scenario.laws import Constant, Empirical, Exponential, Law, Mixture

TIME = ("time",)


def by_an_independent_library(law: str, p: Mapping[str, float]) -> float:
    """Return the mean of a law as scipy.stats has it."""
    if law == "lognormal":
        sigma = math.sqrt(math.log1p(p["cv"] ** 2))
        return float(stats.lognorm(sigma, scale=p["mean"] / math.exp(sigma**2 / 2)).mean())
    if law == "gamma":
        return float(stats.gamma(1 / p["cv"] ** 2, scale=p["mean"] * p["cv"] ** 2).mean())
    if law == "triangular":
        width = p["high"] - p["low"]
        return float(stats.triang((p["mode"] - p["low"]) / width, p["low"], width).mean())
    made: dict[str, Callable[[], Any]] = {
        "exponential": lambda: stats.expon(scale=p["mean"]),
        "uniform": lambda: stats.uniform(p["low"], p["high"] - p["low"]),
        "normal": lambda: stats.truncnorm(-p["mean"] / p["sd"], math.inf, p["mean"], p["sd"]),
        "weibull": lambda: stats.weibull_min(p["shape"], scale=p["scale"]),
    }
    return float(made[law]().mean())


@pytest.mark.parametrize(
    ("name", "parameters"),
    [
        ("exponential", {"mean": "26 h"}),
        ("uniform", {"low": "4 min", "high": "8 min"}),
        ("triangular", {"low": "24 min", "mode": "30 min", "high": "45 min"}),
        ("normal", {"mean": "30 min", "sd": "5 min"}),
        ("normal", {"mean": "10 min", "sd": "20 min"}),
        ("lognormal", {"mean": "75 min", "cv": 0.8}),
        ("gamma", {"mean": "2.2 min", "cv": 0.7}),
        ("weibull", {"shape": 2.4, "scale": "110 h"}),
        ("weibull", {"shape": 0.7, "scale": "2 h"}),
    ],
)
def test_the_mean_of_every_law_is_that_of_an_independent_library(name: str, parameters: dict[str, object]) -> None:
    units = {"h": 3600.0, "min": 60.0}
    in_si = {
        key: float(value) if not isinstance(value, str) else float(value.split()[0]) * units[value.split()[1]]
        for key, value in parameters.items()
        if isinstance(value, str | float | int)
    }

    law = parse_law({name: parameters}, TIME)

    assert law.average == pytest.approx(by_an_independent_library(name, in_si), rel=1e-9)
    assert law.dimension == "time"


def test_a_plain_quantity_is_a_constant() -> None:
    assert parse_law("35 min", TIME) == Constant(2100.0, "time")


def test_a_law_takes_any_of_the_kinds_that_its_place_allows() -> None:
    kinds = ("time", "length", "mass", "pieces")

    assert parse_law({"exponential": {"mean": "480 pieces"}}, kinds) == Exponential(480.0, "pieces")
    assert parse_law("100 t", kinds) == Constant(100_000.0, "mass")


def test_observed_values_and_mixtures_are_read_with_their_weights() -> None:
    seen = parse_law({"empirical": ["1 min", "2 min", "6 min"]}, TIME)
    mixed = parse_law(
        {"mixture": [{"weight": 3, "of": "5 min"}, {"weight": 1, "of": {"exponential": {"mean": "1 h"}}}]}, TIME
    )

    assert seen == Empirical((60.0, 120.0, 360.0), "time")
    assert seen.average == 180.0
    assert mixed == Mixture(((0.75, Constant(300.0)), (0.25, Exponential(3600.0))), "time")
    assert mixed.average == 0.75 * 300.0 + 0.25 * 3600.0


@pytest.mark.parametrize(
    ("value", "place", "words"),
    [
        ({"exponentiel": {"mean": "1 h"}}, (), "'exponentiel' is not a known law"),
        ({"exponential": {"mean": "1 h"}, "uniform": {}}, (), "a law is a mapping with one key, its name"),
        ({"exponential": "1 h"}, ("exponential",), "exponential needs mean, but has '1 h'"),
        (
            {"weibull": {"shape": 900, "scale": "1 h"}},
            ("weibull", "shape"),
            "shape is '900', it must be from 0.1 to 50",
        ),
        ({"gamma": {"mean": "1 h", "cv": 0}}, ("gamma", "cv"), "cv is '0', it must be above 0, up to 10"),
        ({"normal": {"mean": "1 h", "sd": "-1 h"}}, ("normal", "sd"), "sd is '-1 h', it must be above 0"),
        ({"uniform": {"low": "3 h", "high": "2 h"}}, ("uniform",), "low and high must rise"),
        ({"empirical": []}, ("empirical",), "empirical needs a list of observed values"),
        ({"empirical": ["1 h", "2 km"]}, ("empirical", 1), "'2 km' is not a time"),
        ({"mixture": [{"weight": 1, "of": "1 h"}]}, ("mixture",), "mixture needs a list of 2 to 20 parts"),
        (
            {"mixture": [{"weight": 1, "of": "1 h"}, {"weight": 1, "of": {"mixture": []}}]},
            ("mixture", 1, "of"),
            "a mixture inside a mixture",
        ),
        ("-3 h", (), "'-3 h' is negative"),
    ],
)
def test_what_is_no_law_is_refused_at_its_place(value: object, place: tuple[str | int, ...], words: str) -> None:
    with pytest.raises(Refusal) as caught:
        parse_law(value, TIME)

    problem = caught.value.problems[0]
    assert (problem.within, problem.message) == (place, words)
    assert problem.way_out


def test_all_faults_of_a_law_are_told_at_once() -> None:
    with pytest.raises(Refusal) as caught:
        parse_law({"triangular": {"low": "a", "mode": "2 km", "high": "-1 h"}}, TIME)

    assert [problem.within[-1] for problem in caught.value.problems] == ["low", "mode", "high"]


@given(st.floats(0.1, 1e4), st.floats(0.01, 9.0), st.floats(0.2, 20.0))
def test_no_law_has_a_negative_mean(mean: float, cv: float, shape: float) -> None:
    texts: list[object] = [
        {"normal": {"mean": f"{mean} min", "sd": f"{mean * cv} min"}},
        {"lognormal": {"mean": f"{mean} min", "cv": cv}},
        {"gamma": {"mean": f"{mean} min", "cv": cv}},
        {"weibull": {"shape": shape, "scale": f"{mean} min"}},
    ]
    laws: list[Law] = [parse_law(text, TIME) for text in texts]

    assert all(law.average > 0.0 and math.isfinite(law.average) for law in laws)
