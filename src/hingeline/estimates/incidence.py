"""Operations per 100,000 person-years: cases and person-years come in, rates with exact limits go out.

A crude rate has exact Poisson limits; a directly standardised rate has Fay and Feuer's gamma limits, which
hold when few cases carry much weight. The two standard populations most used are here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammaincinv

from hingeline import wording
from hingeline.errors import HingelineError

Floats = NDArray[np.float64]

PER: Final = 100_000

WHO_WORLD_STANDARD: Final[dict[int, float]] = {
    **{0: 8.86, 5: 8.69, 10: 8.60, 15: 8.47, 20: 8.22, 25: 7.93, 30: 7.61, 35: 7.15, 40: 6.59, 45: 6.04},
    **{50: 5.37, 55: 4.55, 60: 3.72, 65: 2.96, 70: 2.21, 75: 1.52, 80: 0.91, 85: 0.44, 90: 0.15, 95: 0.04},
    100: 0.005,
}
"""WHO World Standard 2000–2025, per cent by first year of age (100 stands for 100 and over).

Ahmad et al., Age standardization of rates: a new WHO standard, GPE discussion paper 31, WHO 2001. As printed
the figures sum to 100.035; rates divide by the sum.
"""

EUROPEAN_STANDARD_2013: Final[dict[int, float]] = {
    **{0: 1_000, 1: 4_000, 5: 5_500, 10: 5_500, 15: 5_500, 20: 6_000, 25: 6_000, 30: 6_500, 35: 7_000},
    **{40: 7_000, 45: 7_000, 50: 7_000, 55: 6_500, 60: 6_000, 65: 5_500, 70: 5_000, 75: 4_000, 80: 2_500},
    **{85: 1_500, 90: 800, 95: 200},
}
"""European Standard Population 2013, per 100,000 by first year of age (95 stands for 95 and over).

Revision of the European Standard Population: report of Eurostat's task force, 2013, annex F.
"""


@dataclass(frozen=True)
class Rate:
    """A rate per 100,000 person-years with exact Poisson limits.

    Attributes
    ----------
    cases, person_years : float
    rate, low, high : float
        Per 100,000 person-years.
    level : float
    """

    cases: float
    person_years: float
    rate: float
    low: float
    high: float
    level: float

    def to_frame(self) -> pa.Table:
        """One row, one column an attribute."""
        return pa.Table.from_pylist([dict(self.__dict__)])

    def __str__(self) -> str:
        return wording.rate(self.rate, self.low, self.high, self.level)


@dataclass(frozen=True)
class StandardisedRate:
    """A directly standardised rate per 100,000 person-years, with the crude one beside it.

    Attributes
    ----------
    cases, person_years : float
        Totals over the ages.
    crude, rate, low, high : float
        Per 100,000 person-years; limits belong to the standardised rate.
    level : float
    method : str
    """

    cases: float
    person_years: float
    crude: float
    rate: float
    low: float
    high: float
    level: float
    method: str

    def to_frame(self) -> pa.Table:
        """One row, one column an attribute."""
        return pa.Table.from_pylist([dict(self.__dict__)])

    def __str__(self) -> str:
        return wording.standardised_rate(self.rate, self.low, self.high, self.level)


def incidence(cases: float, person_years: float, level: float = 0.95) -> Rate:
    """Rate per 100,000 person-years with exact Poisson limits.

    Raises
    ------
    HingelineError
        When cases are negative, person-years not above 0, or the level is impossible.

    Notes
    -----
    Garwood, Biometrika 1936;28:437–442: the limits are gamma quantiles. With no cases the upper limit is
    still the two-sided one.
    """
    low, high = incidence_limits(cases, person_years, level)
    rate = PER * cases / person_years
    return Rate(float(cases), float(person_years), rate, float(low), float(high), level)


def incidence_limits(cases: ArrayLike, person_years: ArrayLike, level: float = 0.95) -> tuple[Floats, Floats]:
    """Exact Poisson limits, per 100,000 person-years, for arrays broadcast against each other."""
    x, years = _checked(cases, person_years, level)
    low = np.where(x > 0, _gamma_quantile(np.where(x > 0, x, 1.0), (1 - level) / 2), 0.0)
    return PER * low / years, PER * _gamma_quantile(x + 1, (1 + level) / 2) / years


def standardise(
    cases: ArrayLike,
    person_years: ArrayLike,
    standard: ArrayLike,
    *,
    level: float = 0.95,
    method: str = "fay-feuer",
) -> StandardisedRate:
    """Directly standardised rate per 100,000 person-years.

    Parameters
    ----------
    cases, person_years, standard : array_like, (ages,)
        Of each age group; the standard in any unit (it is divided by its sum). `standard_weights` gives one.
    method : {"fay-feuer"}
        Gamma limits; there is no other yet.

    Raises
    ------
    HingelineError
        When lengths differ, numbers are impossible, or the method is another.

    Notes
    -----
    Fay & Feuer, Stat Med 1997;16:791–801.
    """
    if method != "fay-feuer":
        raise HingelineError(f"There is no method {method!r}", "method", 'Use "fay-feuer"')
    x, years = _checked(cases, person_years, level)
    weight = np.asarray(standard, dtype=np.float64)
    if x.ndim != 1 or weight.shape != x.shape or not (weight >= 0).all() or not weight.sum() > 0:
        raise HingelineError(
            "The standard population does not fit the age groups",
            "standard",
            "Give one weight of 0 or more for each age group",
        )
    per_case = weight / weight.sum() / years
    rate = float(per_case @ x)
    variance = float(per_case**2 @ x)
    most = float(per_case.max())
    low = float(_gamma_quantile(rate**2 / variance, (1 - level) / 2)) * variance / rate if rate > 0 else 0.0
    above, spread = rate + most, variance + most**2
    high = float(_gamma_quantile(above**2 / spread, (1 + level) / 2)) * spread / above
    return StandardisedRate(
        float(x.sum()),
        float(years.sum()),
        PER * float(x.sum() / years.sum()),
        PER * rate,
        PER * low,
        PER * high,
        level,
        "Fay–Feuer",
    )


def standard_weights(standard: dict[int, float], age_from: ArrayLike) -> Floats:
    """Weights of a standard population for age groups that start at given years of age.

    Parameters
    ----------
    standard : dict
        `WHO_WORLD_STANDARD`, `EUROPEAN_STANDARD_2013` or another: weight by first year of age.
    age_from : array_like of int, (ages,)
        First year of each age group, rising from 0; the last group is open.

    Raises
    ------
    HingelineError
        When a group starts where the standard has no boundary (it would have to be split by guess).
    """
    starts = np.asarray(age_from, dtype=np.int64)
    if len(starts) == 0 or starts[0] != 0 or (np.diff(starts) <= 0).any():
        raise HingelineError(
            "Age groups do not rise from 0", "age_from", "Order the age groups from 0 upwards"
        )
    missing = [str(start) for start in starts.tolist() if start not in standard]
    if missing:
        raise HingelineError(
            f"The standard population has no boundary at {wording.listed(missing)} years",
            "age_from",
            "Use age groups that start at " + wording.listed([str(start) for start in standard]),
        )
    firsts = np.array(list(standard))
    place = np.searchsorted(starts, firsts, side="right") - 1
    summed = np.zeros(len(starts))
    np.add.at(summed, place, np.array(list(standard.values())))
    return summed


def _gamma_quantile(shape: ArrayLike, probability: float) -> Floats:
    return np.asarray(gammaincinv(np.asarray(shape, dtype=np.float64), probability), dtype=np.float64)


def _checked(cases: ArrayLike, person_years: ArrayLike, level: float) -> tuple[Floats, Floats]:
    if not 0 < level < 1:
        raise HingelineError(f"{level} is no coverage level", "level", "Give a number between 0 and 1")
    x, years = np.broadcast_arrays(
        np.asarray(cases, dtype=np.float64), np.asarray(person_years, dtype=np.float64)
    )
    if not (np.isfinite(x) & (x >= 0) & np.isfinite(years) & (years > 0)).all():
        raise HingelineError(
            "Cases or person-years are impossible",
            "cases, person_years",
            "Give cases of 0 or more and person-years above 0",
        )
    return x, years
