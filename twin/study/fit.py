"""What a plant's log says of the numbers of its line: laws, their doubt, and what does not look like chance."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from twin.logs.doctor import Examined
from twin.scenario.laws import Law, Weibull
from twin.study.fitbeside import beside
from twin.study.fitlaws import PRIOR, Chosen, chosen, log_covariance, rate_estimate, rounded
from twin.study.fitnotes import notes
from twin.study.fitresult import Cause, Estimate, Fitted, Sample, Source
from twin.study.fitsamples import Asked, Records, asked
from twin.study.learning import ENOUGH as ENOUGH_DAMAGES
from twin.study.learning import judge
from twin.study.life import Lives
from twin.study.spread import Spread, scaled

if TYPE_CHECKING:
    from twin.scenario import Scenario

UNITS = {"time": "s", "length": "m", "mass": "kg", "pieces": "pieces"}
Z95 = 1.959963984540054


class FitStopped(Exception):
    """Somebody asked to stop."""


def fit(
    scenario: Scenario,
    examined: Examined,
    *,
    progress: Callable[[int, int], None] | None = None,
    stop: Callable[[], bool] | None = None,
    twin: bool = True,
) -> Fitted:
    """Return what an examined log says of a line.

    Parameters
    ----------
    scenario : The line, with what was assumed so far; its calendars tell when each station works.
    progress : Is told how many numbers are done, and of how many.
    twin : Whether to put rates and yields beside those of the simulated line, which takes some runs.

    Raises
    ------
    LogError : The doctor refuses the log.
    FitStopped : `stop` said so.
    """
    records = Records(scenario, examined.trusted())
    wanted, causes = asked(scenario), []
    for number, ask in enumerate(wanted):
        if stop is not None and stop():
            raise FitStopped
        sample = _sample(records, ask)
        if _told_of(records, ask, sample):
            causes.append(_cause(records, ask, sample))
        if progress is not None:
            progress(number + 1, len(wanted))
    return Fitted(
        digest=scenario.digest,
        zone=scenario.time.zone,
        span=records.span,
        causes=tuple(causes),
        beside=beside(records) if twin else (),
        notes=notes(records, causes),
        findings=examined.findings,
        logs=examined.log.digests,
    )


def _sample(records: Records, ask: Asked) -> Sample:
    if ask.what == "life":
        return records.lives(ask)
    if ask.what == "every":
        own = records.scenario.stations[ask.station]
        failure = next(one for one in own.failures if one.reason == ask.reason)
        return records.between(ask, failure)
    return records.duration(ask)


def _told_of(records: Records, ask: Asked, sample: Sample) -> bool:
    """Tell whether the log says anything of a number: that a failure never came in so long says something too."""
    if ask.what == "every":
        return sample.exposure > 0.0
    return len(sample.values) > 0 or (ask.what == "life" and len(sample.cut_short) > 0)


def _cause(records: Records, ask: Asked, sample: Sample) -> Cause:
    if ask.what == "life":
        own = _life(sample, ask.law)
    elif ask.what == "every":
        own = _every(records, ask, sample)
    else:
        own = chosen(sample, ask.law, between=False)
    return Cause(
        station=ask.station,
        reason=ask.reason,
        what=ask.what,
        path=ask.path,
        unit=UNITS[ask.law.dimension],
        sample=sample,
        assumed=ask.law,
        law=rounded(own.law),
        name=own.name,
        parameters=own.parameters,
        aic=own.aic,
        fits=own.fits,
        mean=own.mean,
        method=own.method,
        spread=own.spread,
        source=_source(records, ask, sample),
    )


def _every(records: Records, ask: Asked, sample: Sample) -> Chosen:
    """Return the law between failures; of a rate all failures count, and all that passed before the first too."""
    found = chosen(sample, ask.law, between=True)
    if found.spread.kind != "rate":
        return found
    n = records.failures(ask.station, ask.reason)
    spread = Spread("rate", shape=n + PRIOR, exposure=sample.exposure + PRIOR * ask.law.average)
    mean = rate_estimate(spread)
    law = scaled(found.law, mean.mean / found.law.average)
    return Chosen(law, found.name, {"mean": mean}, found.aic, found.fits, mean, spread, found.method)


def _life(sample: Sample, assumed: Law) -> Chosen:
    """Return how long rolls last: by likelihood with sets that came off undamaged cut short, or with a stated guess."""
    lives = Lives(tuple(sample.values.tolist()), tuple(sample.cut_short.tolist()))
    found = judge(lives)
    law = Weibull(found.law.shape, found.law.scale, assumed.dimension)
    parameters = {
        "shape": Estimate(law.shape, found.shape.low, found.shape.high),
        "scale": Estimate(law.scale, found.scale.low, found.scale.high),
    }
    if len(lives.ended) >= ENOUGH_DAMAGES:
        covariance = log_covariance(law, lives)
    else:
        deviations = [_deviation(one) for one in parameters.values()]
        covariance = ((deviations[0] ** 2, 0.0), (0.0, deviations[1] ** 2))
    ends = [law.average * float(np.exp(way * Z95 * covariance[1][1] ** 0.5)) for way in (-1.0, 1.0)]
    mean = Estimate(law.average, ends[0], ends[1])
    return Chosen(law, "weibull", parameters, found.aic, None, mean, Spread("law", covariance=covariance), found.method)


def _deviation(one: Estimate) -> float:
    """Return the standard deviation of a parameter's logarithm, from its interval; one end may be open."""
    low = np.log(one.mean / one.low) if one.low > 0.0 else 1.0
    high = np.log(one.high / one.mean) if np.isfinite(one.high) else low
    return float(min(max(low, high) / Z95, 1.5))


def _source(records: Records, ask: Asked, sample: Sample) -> Source:
    zone = ZoneInfo(records.scenario.time.zone)
    first, last = (datetime.fromtimestamp(at, zone).date().isoformat() for at in records.span)
    n = records.failures(ask.station, ask.reason) if ask.what == "every" else len(sample.values)
    words = f"{n} in {_amount(sample.exposure, ask.law.dimension)}" if ask.what in ("every", "life") else f"{n}"
    return Source("measured", n, first, last, f"measured: {words}, {first} to {last}")


def _amount(value: float, dimension: str) -> str:
    size, unit = {
        "time": (3600.0, "h"),
        "length": (1000.0, "km"),
        "mass": (1000.0, "t"),
        "pieces": (1.0, "pieces"),
    }[dimension]
    return f"{value / size:.4g} {unit}" if value / size < 1e4 else f"{value / size:.0f} {unit}"
