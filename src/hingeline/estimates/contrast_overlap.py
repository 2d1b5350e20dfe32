"""Where repairs can be compared at all: the common support of the arms over each covariate.

Checked rows go in; the rows within the support of every arm come out, with what lies outside and why. Nobody of
5 had mesh: no weight can make up the groins that would say how mesh does at 5, so they are left out and counted
(positivity: Westreich & Cole, Am J Epidemiol 2010;171:674; restricting to it: Crump et al, Biometrika 2009;96:187).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import Any, Final

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.contrast_rows import Array, ContrastRows

STRATA: Final = 20
"""A number is cut into at most so many strata of equal numbers of groins to look for gaps."""
SURELY: Final = 10.0
"""A stratum counts as a gap of an arm that has no one in it when its share of all would make it at least so many
there: by chance alone that happens once in e^10 = 22,000."""

MOST_TOLD: Final = 6
"""So many gaps are told in a sentence; all of them are in the frame."""


@dataclass(frozen=True)
class Gap:
    """A stretch of one covariate, or a level of it, where an arm has no one.

    Attributes
    ----------
    covariate, arm : str
    level : str
        The level of a factor; empty for a stretch of a number.
    low, high : float
        The stretch, both ends within it; not a number for a level.
    groins : int
        Groins of other arms there.
    """

    covariate: str
    arm: str
    level: str
    low: float
    high: float
    groins: int

    def __str__(self) -> str:
        return wording.contrast_gap(self.covariate, self.arm, self.level, self.low, self.high, self.groins)


class NoSupport(HingelineError):
    """No support is common to all arms.

    Attributes
    ----------
    gaps : tuple of Gap
        Where an arm has no one.
    could : tuple of (str, str)
        The two arms that could be compared alone.
    """

    def __init__(self, gaps: tuple[Gap, ...], could: tuple[tuple[str, str], ...]) -> None:
        alone = [f"{first} with {second}" for first, second in could]
        super().__init__(
            wording.contrast_no_support(_largest(gaps)),
            "arguments arm and covariates",
            f"compare {wording.listed(alone)} alone"
            if alone
            else "compare repairs that the same patients have",
        )
        self.gaps, self.could = gaps, could


@dataclass(frozen=True)
class PairSupport:
    """How far two arms alone overlap.

    Attributes
    ----------
    first, second : str
    inside, outside : int
        Groins of the two within and outside their common support.
    """

    first: str
    second: str
    inside: int
    outside: int


@dataclass(frozen=True)
class Overlap:
    """Common support of all arms, and of each two.

    Attributes
    ----------
    inside, outside : int
        Groins within and outside the support that all arms have.
    outside_by_arm : tuple of int
    gaps : tuple of Gap
    pairs : tuple of PairSupport
    """

    inside: int
    outside: int
    arms: tuple[str, ...]
    outside_by_arm: tuple[int, ...]
    gaps: tuple[Gap, ...]
    pairs: tuple[PairSupport, ...]

    def to_frame(self) -> pa.Table:
        """One row a gap: covariate, arm, level, low, high, groins."""
        kinds: dict[str, Any] = {
            "covariate": pa.string(),
            "arm": pa.string(),
            "level": pa.string(),
            "low": pa.float64(),
            "high": pa.float64(),
            "groins": pa.int64(),
        }
        return pa.table(
            {name: pa.array([getattr(gap, name) for gap in self.gaps], kind) for name, kind in kinds.items()}
        )

    def __str__(self) -> str:
        return wording.contrast_overlap(self.inside, self.outside, _largest(self.gaps))


def _largest(gaps: tuple[Gap, ...]) -> list[str]:
    """The gaps with most groins, in words; how many more there are."""
    first = sorted(gaps, key=lambda gap: -gap.groins)[:MOST_TOLD]
    more = len(gaps) - len(first)
    return [str(gap) for gap in first] + ([wording.contrast_more_gaps(more)] if more else [])


def common_support(rows: ContrastRows) -> tuple[ContrastRows, Overlap]:
    """Keep the groins that lie where every arm has someone.

    Stretches of numbers are those that all arms span to begin with: trimmed again and again they would shrink to
    nothing, each end belonging to some arm. Levels are looked at again until each arm has someone in all that stay.

    Returns
    -------
    rows : ContrastRows
    overlap : Overlap

    Raises
    ------
    NoSupport
        When no support is common to all arms; it tells which two alone could be compared.
    """
    keep, gaps = _supported(rows)
    pairs = []
    for first, second in combinations(range(len(rows.arms)), 2):
        of_two = (rows.arm == first) | (rows.arm == second)
        inside, two = keep, round(float(rows.groins[of_two].sum()))
        if len(rows.arms) > 2:
            two_rows = rows.only(of_two)
            inside = np.zeros(rows.arm.size, dtype=bool)
            inside[of_two] = _supported(two_rows, (first, second))[0]
        kept = round(float(rows.groins[inside].sum()))
        pairs.append(PairSupport(rows.arms[first], rows.arms[second], kept, two - kept))
    if not np.any(keep):
        could = [(p.first, p.second) for p in pairs if p.inside and len(rows.arms) > 2]
        raise NoSupport(gaps, tuple(could))
    out = ~keep
    by_arm = np.bincount(rows.arm[out], rows.groins[out], len(rows.arms))
    inside_number = round(float(rows.groins[keep].sum()))
    overlap = Overlap(
        inside_number,
        rows.number - inside_number,
        rows.arms,
        tuple(round(float(each)) for each in by_arm),
        gaps,
        tuple(pairs),
    )
    return rows.only(keep), overlap


def _supported(
    rows: ContrastRows, codes: tuple[int, ...] | None = None
) -> tuple[NDArray[np.bool_], tuple[Gap, ...]]:
    """Which rows lie in the support of every arm, and the gaps that the others lie in."""
    codes = codes or tuple(range(len(rows.arms)))
    keep = np.ones(rows.arm.size, dtype=bool)
    gaps: list[Gap] = []
    first = True
    while True:
        found: list[Gap] = []
        gone = np.zeros(rows.arm.size, dtype=bool)
        for name, value, labels in _measures(rows):
            if labels is None and not first:
                continue
            for code in codes:
                outside, told = _gaps_of(rows, keep, code, name, value, labels)
                gone |= outside
                found += told
        gaps += found
        keep &= ~gone
        left = np.bincount(rows.arm[keep], minlength=len(rows.arms))
        if any(left[code] == 0 for code in codes):
            return np.zeros_like(keep), tuple(gaps)
        if not first and not np.any(gone):
            return keep, tuple(gaps)
        first = False


def _measures(rows: ContrastRows) -> list[tuple[str, Array, dict[float, str] | None]]:
    """Each covariate by row: a number, or the level's number with the levels' names."""
    measures: list[tuple[str, Array, dict[float, str] | None]] = []
    by_factor: dict[str, list[int]] = {}
    for place, column in enumerate(rows.columns):
        by_factor.setdefault(column.factor, []).append(place)
    for factor, places in by_factor.items():
        columns = rows.design[:, places]
        marked = bool(np.all((columns == 0) | (columns == 1)))
        if marked and (rows.columns[places[0]].level or len(places) > 1):
            level = np.where(columns.any(axis=1), columns.argmax(axis=1) + 1.0, 0.0)
            labels = {0.0: rows.omitted.get(factor, "")}
            labels |= {place + 1.0: rows.columns[at].level for place, at in enumerate(places)}
            measures.append((factor, level[rows.profile], labels))
            continue
        for place in places:
            value = rows.design[:, place]
            two = bool(np.all((value == 0) | (value == 1)))
            measures.append(
                (rows.columns[place].name, value[rows.profile], {0.0: "no", 1.0: "yes"} if two else None)
            )
    return measures


def _gaps_of(
    rows: ContrastRows,
    keep: NDArray[np.bool_],
    code: int,
    name: str,
    value: Array,
    labels: dict[float, str] | None,
) -> tuple[NDArray[np.bool_], list[Gap]]:
    """Rows, among those kept, where one arm has no one, by one covariate."""
    own = keep & (rows.arm == code)
    arm = rows.arms[code]
    gone = np.zeros(keep.size, dtype=bool)
    gaps: list[Gap] = []

    def leave(rows_out: NDArray[np.bool_], level: str) -> None:
        nonlocal gone
        if not np.any(rows_out):
            return
        gone = gone | rows_out
        span = (np.nan, np.nan) if level else (float(value[rows_out].min()), float(value[rows_out].max()))
        gaps.append(Gap(name, arm, level, *span, groins=round(float(rows.groins[rows_out].sum()))))

    if labels is not None:
        held = np.unique(value[own])
        for number, label in labels.items():
            if number not in held:
                leave(keep & (value == number), label or "the remaining level")
        return gone, gaps
    low, high = value[own].min(), value[own].max()
    leave(keep & (value < low), "")
    leave(keep & (value > high), "")
    within = keep & (value >= low) & (value <= high)
    for first, last in _strata(value[within], rows.groins[within]):
        stratum = within & (value >= first) & (value <= last)
        expected = rows.groins[stratum].sum() * rows.groins[own].sum() / rows.groins[keep].sum()
        if expected >= SURELY and not np.any(stratum & own):
            leave(stratum, "")
    return gone, gaps


def _strata(value: Array, groins: Array) -> list[tuple[float, float]]:
    """Cut a number into strata of about equal numbers of groins, between distinct values."""
    distinct, place = np.unique(value, return_inverse=True)
    if distinct.size < 3:
        return []
    below = np.cumsum(np.bincount(place.reshape(-1), groins, distinct.size))
    stratum = np.minimum((STRATA * (below - 1e-9) / below[-1]).astype(np.int64), STRATA - 1)
    starts = np.flatnonzero(np.r_[True, np.diff(stratum) > 0])
    ends = np.r_[starts[1:] - 1, distinct.size - 1]
    return [(float(distinct[a]), float(distinct[b])) for a, b in zip(starts, ends, strict=True)]
