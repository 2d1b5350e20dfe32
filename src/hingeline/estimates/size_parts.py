"""What every size of a study shares: what is allowed for, what is refused, and the answer.

A number of groins to analyse comes in; the number to enrol goes out, after those lost and after likeness within
a patient and within a hospital (design effect: Kish, Survey Sampling, 1965, 5.4 and 8.2; unequal clusters:
Eldridge, Ashby & Kerry, Int J Epidemiol 2006;35:1292).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import pyarrow as pa
from scipy.special import ndtri

from hingeline import wording
from hingeline.errors import HingelineError

Number = float | int | str

MOST: Final = 1e9
"""Groins beyond which no study can be asked for; a size above it is refused rather than printed."""


@dataclass(frozen=True)
class Allowance:
    """What a study loses, and how alike its groins are.

    Attributes
    ----------
    lost : float
        Share of the groins enrolled that give no answer, from 0 to under 1.
    per_hospital : float
        Groins of one arm in a hospital, on average; 1 leaves hospitals out of account.
    hospital_correlation : float
        Of the outcomes of two patients of one hospital and arm (ICC), 0 to 1. It counts in full, as where a
        hospital does one kind of repair; where each hospital does both, less is needed.
    hospital_spread : float
        Coefficient of variation of the hospitals' sizes.
    bilateral : float
        Share of patients of whom both groins enter.
    groin_correlation : float
        Of the outcomes of a patient's two groins, 0 to 1.
    """

    lost: float = 0.0
    per_hospital: float = 1.0
    hospital_correlation: float = 0.0
    hospital_spread: float = 0.0
    bilateral: float = 0.0
    groin_correlation: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what cannot be."""
        checked_share(self.lost, "lost", lowest=0.0)
        for name in ("hospital_correlation", "bilateral", "groin_correlation"):
            checked_share(getattr(self, name), name, lowest=0.0, highest=1.0)
        if not (math.isfinite(self.per_hospital) and self.per_hospital >= 1):
            raise HingelineError(
                f"A hospital with {self.per_hospital:g} groins is none", "per_hospital", "Give 1 or more"
            )
        if not (math.isfinite(self.hospital_spread) and self.hospital_spread >= 0):
            raise HingelineError(
                f"The spread of hospitals' sizes is {self.hospital_spread:g}",
                "hospital_spread",
                "Give their standard deviation over their mean, 0 or more",
            )

    @property
    def design_effect(self) -> float:
        """By how much likeness multiplies the groins: 1 + the mean of Σ correlations with a groin's fellows."""
        same_patient = 2 * self.bilateral / (1 + self.bilateral)
        fellows = self.per_hospital * (1 + self.hospital_spread**2) - 1
        others = max(fellows - same_patient, 0.0)
        return 1 + same_patient * self.groin_correlation + others * self.hospital_correlation

    def enrolled(self, analysed: float) -> int:
        """Whole groins to enrol so that as many independent ones as given can be analysed."""
        return whole(whole(analysed) * self.design_effect / (1 - self.lost))

    def effective(self, enrolled: float) -> float:
        """Independent groins that as many enrolled ones are worth."""
        return enrolled * (1 - self.lost) / self.design_effect

    def patients(self, groins: int) -> int:
        """Patients who have so many groins."""
        return whole(groins / (1 + self.bilateral))


@dataclass(frozen=True)
class Size:
    """How large a study has to be, or what a given one can show.

    Attributes
    ----------
    question : str
        ``shares``, ``as good``, ``log-rank``, ``share``, ``turn`` or ``crossing``.
    exact : tuple of float
        Independent groins to analyse by arm, before rounding up.
    per_arm : tuple of int
        The same, rounded up; one number where there are no arms.
    enrolled : tuple of int
        Groins to enrol by arm, after those lost and after likeness.
    total : int
        Sum of ``enrolled``.
    patients : int
        Patients who have so many groins.
    events : float
        Expected (or, for log-rank, needed) among those analysed; nan where the question has none.
    power : float
        Chance of showing it when the assumptions hold; nan where the question is one of precision.
    half_width : float
        Half of the interval's width, in points of share or in years; nan where the question is one of power.
    level : float
        Coverage of the interval, or 1 − the two-sided level of the test.
    allowance : Allowance
    assumptions : tuple of (str, number or text)
        What it rests on.
    method : str
    sentence : str
        Fit for a protocol.
    error : tuple of float
        Limits within which the total lies by simulation error (95%); nan where nothing was simulated.
    """

    question: str
    exact: tuple[float, ...]
    per_arm: tuple[int, ...]
    enrolled: tuple[int, ...]
    total: int
    patients: int
    events: float
    power: float
    half_width: float
    level: float
    allowance: Allowance
    assumptions: tuple[tuple[str, Number], ...]
    method: str
    sentence: str
    error: tuple[float, float] = (math.nan, math.nan)

    def to_frame(self) -> pa.Table:
        """One row an arm."""
        arms = len(self.per_arm)
        return pa.table(
            {
                "question": [self.question] * arms,
                "arm": list(range(1, arms + 1)),
                "exact": list(self.exact),
                "analysed": list(self.per_arm),
                "enrolled": list(self.enrolled),
                "total": [self.total] * arms,
                "patients": [self.patients] * arms,
                "events": [self.events] * arms,
                "power": [self.power] * arms,
                "half_width": [self.half_width] * arms,
                "level": [self.level] * arms,
                "design_effect": [self.allowance.design_effect] * arms,
                "lost": [self.allowance.lost] * arms,
                "method": [self.method] * arms,
            }
        )

    def __str__(self) -> str:
        return self.sentence


def whole(groins: float) -> int:
    """The next whole number, with what is whole but for rounding left as it is."""
    if not groins <= MOST:
        raise HingelineError(
            "No study could be that large",
            "the assumptions together",
            "Assume a larger difference, margin or half-width, or less power",
        )
    return math.ceil(groins - 1e-9 * max(groins, 1.0))


def checked_share(
    value: float, name: str, *, lowest: float | None = None, highest: float | None = None
) -> float:
    """A share strictly between 0 and 1; ``lowest`` and ``highest`` say which end is allowed as well."""
    try:
        number = float(value)
    except (TypeError, ValueError):
        raise HingelineError(f"{value!r} is no share", name, "Give a number between 0 and 1") from None
    if lowest == number == 0 or highest == number == 1 or 0 < number < 1:
        return number
    ends = "from 0" if lowest == 0 else "above 0"
    ends += " to 1" if highest == 1 else " and under 1"
    raise HingelineError(
        f"The share is {number:g}", name, f"Give a share {ends} (2 per cent is 0.02), not a percentage"
    )


def checked_positive(value: float, name: str, todo: str) -> float:
    """A finite number above 0."""
    try:
        number = float(value)
    except (TypeError, ValueError):
        number = math.nan
    if not (math.isfinite(number) and number > 0):
        raise HingelineError(f"{name} is {value!r}", name, todo)
    return number


def checked_test(power: float, level: float, ratio: float) -> tuple[float, float]:
    """Normal quantiles of the test (two-sided at 1 − level) and of the power."""
    checked_share(level, "level")
    checked_positive(ratio, "ratio", "Give groins of the second arm for each of the first, above 0")
    checked_share(power, "power")
    if power <= (1 - level) / 2:
        raise HingelineError(
            f"A power of {power:g} is what chance alone gives", "power", "Give a power such as 0.8 or 0.9"
        )
    return float(ndtri((1 + level) / 2)), float(ndtri(power))


def two_arms(
    question: str,
    exact_first: float,
    ratio: float,
    allowance: Allowance,
    *,
    events: float,
    power: float,
    level: float,
    assumptions: tuple[tuple[str, Number], ...],
    method: str,
    told: str,
) -> Size:
    """Answer for two arms: what is needed of each, with what is allowed for told behind it."""
    exact = (exact_first, exact_first * ratio)
    analysed = tuple(whole(n) for n in exact)
    enrolled = tuple(allowance.enrolled(n) for n in exact)
    total = sum(enrolled)
    patients = allowance.patients(total)
    return Size(
        question=question,
        exact=exact,
        per_arm=analysed,
        enrolled=enrolled,
        total=total,
        patients=patients,
        events=events,
        power=power,
        half_width=math.nan,
        level=level,
        allowance=allowance,
        assumptions=assumptions,
        method=method,
        sentence=wording.size_in_arms(
            told, analysed, events, allowance.lost, allowance.design_effect, total, patients
        ),
    )


NOTHING: Final = Allowance()
"""No one lost, every groin on its own."""
