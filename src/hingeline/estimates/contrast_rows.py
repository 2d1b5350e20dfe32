"""Rows of a comparison of repairs, checked: arm, days followed, outcome and covariates of patterns of patients.

Plain arrays come in as a user of the estimators hands them over; refused ones raise. What goes out holds each
distinct set of covariates (a profile) once, so that a propensity is fitted to counts by profile and arm.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hingeline.errors import HingelineError

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Covariates = ArrayLike | Mapping[str, ArrayLike]


@dataclass(frozen=True)
class Column:
    """One column of the covariates.

    Attributes
    ----------
    name : str
        As told: ``age`` or ``hospital=B``.
    factor : str
        The covariate that the column belongs to: ``hospital``; its own name when it stands alone.
    level : str
        The level that the column marks, empty for a number.
    """

    name: str
    factor: str
    level: str = ""


@dataclass(frozen=True)
class ContrastRows:
    """Checked rows.

    Attributes
    ----------
    arms : tuple of str
    arm, profile, cluster : array of int, shape (rows,)
        Place in ``arms``, in ``design`` and in ``patients``.
    days, outcome : array of int, shape (rows,)
    n : array, shape (rows,)
        Groins that one patient of the pattern has in the row.
    patients : array of int, shape (patterns,)
        Patients of each pattern.
    design : array, shape (profiles, columns)
        The distinct sets of covariates, factors coded 0 and 1; without an intercept.
    columns : tuple of Column
    omitted : mapping of str to str
        The level of a factor that has no column, by factor.
    """

    arms: tuple[str, ...]
    arm: Index
    profile: Index
    cluster: Index
    days: Index
    outcome: Index
    n: Array
    patients: Index
    design: Array
    columns: tuple[Column, ...]
    omitted: Mapping[str, str]

    @property
    def groins(self) -> Array:
        """Groins that each row stands for."""
        return self.n * self.patients[self.cluster]

    @property
    def number(self) -> int:
        """All groins."""
        return round(float(self.groins.sum()))

    def counts(self) -> Array:
        """Groins by profile and arm, shape (profiles, arms)."""
        shape = (self.design.shape[0], len(self.arms))
        flat = np.bincount(self.profile * shape[1] + self.arm, self.groins, shape[0] * shape[1])
        return flat.reshape(shape).astype(np.float64, copy=False)

    def only(self, keep: NDArray[np.bool_]) -> ContrastRows:
        """The rows to keep; profiles that nobody has any more leave, patterns stay."""
        used, profile = np.unique(self.profile[keep], return_inverse=True)
        return replace(
            self,
            arm=self.arm[keep],
            profile=profile.reshape(-1).astype(np.int64),
            cluster=self.cluster[keep],
            days=self.days[keep],
            outcome=self.outcome[keep],
            n=self.n[keep],
            design=self.design[used],
        )

    def without_columns(self, keep: NDArray[np.bool_]) -> ContrastRows:
        """The same rows described by fewer columns."""
        design, places = np.unique(self.design[:, keep], axis=0, return_inverse=True)
        columns = tuple(column for column, kept in zip(self.columns, keep, strict=True) if kept)
        profile = places.reshape(-1).astype(np.int64)[self.profile]
        return replace(self, design=design, profile=profile, columns=columns)


def check_rows(
    arm: ArrayLike,
    days: ArrayLike,
    outcome: ArrayLike,
    covariates: Covariates,
    n: ArrayLike | None = None,
    clusters: ArrayLike | None = None,
    weights: ArrayLike | None = None,
    *,
    arms: Sequence[str] | None = None,
    names: Sequence[str] | None = None,
) -> ContrastRows:
    """Check the arguments of `contrast`, which says what they are."""
    days_ = _whole(days, "days")
    size = days_.size
    outcome_ = _whole(outcome, "outcome", size)
    if np.any(outcome_ > 2):
        _refuse("An outcome is unknown", "outcome", outcome_ > 2, "give 0 censored, 1 the event, 2 died")
    coded, labels = _coded_arms(arm, arms, size)
    groins = np.ones(size) if n is None else _whole(n, "n", size).astype(np.float64)
    cluster, patients = _patterns(clusters, weights, size)
    matrix, columns, omitted = _matrix(covariates, names, size, groins * patients[cluster])
    keep = groins * patients[cluster] > 0
    present = np.bincount(coded[keep], minlength=len(labels))
    for code in np.flatnonzero(present == 0):
        raise HingelineError(
            f"Nobody had {labels[code]}",
            "argument arm",
            "compare repairs that someone had, or widen who is compared",
        )
    if len(labels) < 2:
        raise HingelineError("There is one repair only", "argument arm", "give at least two to compare")
    design, profile = _profiles(matrix)
    rows = ContrastRows(
        arms=labels,
        arm=coded,
        profile=profile,
        cluster=cluster,
        days=days_,
        outcome=outcome_,
        n=groins,
        patients=patients,
        design=design,
        columns=columns,
        omitted=omitted,
    )
    return rows.only(keep)


def _coded_arms(arm: ArrayLike, arms: Sequence[str] | None, size: int) -> tuple[Index, tuple[str, ...]]:
    given = np.asarray(arm)
    if given.shape != (size,):
        raise HingelineError(
            f"arm has the shape {given.shape}", "argument arm", f"give one repair a row, {size} in all"
        )
    if given.dtype.kind in "iu" and arms is not None:
        if np.any((given < 0) | (given >= len(arms))):
            raise HingelineError(
                "An arm's code is none of the arms", "argument arm", f"give codes from 0 to {len(arms) - 1}"
            )
        return given.astype(np.int64), tuple(map(str, arms))
    text = given.astype(str)
    labels = tuple(map(str, arms)) if arms is not None else tuple(np.unique(text).tolist())
    place = {label: code for code, label in enumerate(labels)}
    distinct, inverse = np.unique(text, return_inverse=True)
    for label in distinct:
        if str(label) not in place:
            raise HingelineError(
                f"{label!r} is none of the arms", "argument arm", f"give {', '.join(labels)}"
            )
    codes = np.array([place[str(label)] for label in distinct], dtype=np.int64)
    return codes[inverse.reshape(-1)], labels


def _patterns(clusters: ArrayLike | None, weights: ArrayLike | None, size: int) -> tuple[Index, Index]:
    each = np.ones(size, dtype=np.int64) if weights is None else _whole(weights, "weights", size)
    if clusters is None:
        return np.arange(size), each
    given = np.asarray(clusters)
    if given.shape != (size,):
        raise HingelineError(
            f"clusters has the shape {given.shape}", "argument clusters", f"give one a row, {size} in all"
        )
    distinct, inverse = np.unique(given, return_inverse=True)
    cluster = inverse.reshape(-1).astype(np.int64)
    patients = np.zeros(distinct.size, dtype=np.int64)
    patients[cluster] = each
    differs = patients[cluster] != each
    if np.any(differs):
        _refuse(
            "A pattern's rows tell different numbers of patients", "weights", differs, "give one a pattern"
        )
    return cluster, patients


def _matrix(
    covariates: Covariates, names: Sequence[str] | None, size: int, groins: Array
) -> tuple[Array, tuple[Column, ...], dict[str, str]]:
    if isinstance(covariates, Mapping):
        parts: list[Array] = []
        columns: list[Column] = []
        omitted: dict[str, str] = {}
        for name, values in covariates.items():
            part, marked, left_out = _covariate(str(name), values, size, groins)
            parts.append(part)
            columns.extend(marked)
            if left_out:
                omitted[str(name)] = left_out
        matrix = np.column_stack(parts) if parts else np.zeros((size, 0))
        return matrix, tuple(columns), omitted
    try:
        matrix = np.asarray(covariates, dtype=np.float64)
    except (TypeError, ValueError):
        raise HingelineError(
            "A covariate is not a number", "argument covariates", "give numbers, or a column a name"
        ) from None
    if matrix.ndim == 1:
        matrix = matrix[:, None]
    if matrix.ndim != 2 or matrix.shape[0] != size:
        raise HingelineError(
            f"covariates has the shape {matrix.shape}",
            "argument covariates",
            f"give a row for each of the {size}",
        )
    told = [f"covariate {place + 1}" for place in range(matrix.shape[1])] if names is None else list(names)
    if len(told) != matrix.shape[1]:
        raise HingelineError(
            f"{len(told)} names of {matrix.shape[1]} covariates", "argument names", "give one name a column"
        )
    for place, name in enumerate(told):
        _no_missing(~np.isfinite(matrix[:, place]), name, groins)
    return matrix, tuple(_column(name) for name in told), {}


def _covariate(name: str, values: ArrayLike, size: int, groins: Array) -> tuple[Array, list[Column], str]:
    given = np.asarray(values)
    if given.shape != (size,):
        raise HingelineError(
            f"{name} has the shape {given.shape}", f"argument covariates, {name}", f"give {size} values"
        )
    if given.dtype.kind in "biuf":
        number = given.astype(np.float64)
        _no_missing(~np.isfinite(number), name, groins)
        return number[:, None], [Column(name, name)], ""
    _no_missing(np.array([v is None or v == "" or v != v for v in given.tolist()]), name, groins)
    levels, place = np.unique(given.astype(str), return_inverse=True)
    # the level that most have is the one without a column: its coefficient is the best known
    most = int(np.argmax(np.bincount(place.reshape(-1), groins, levels.size)))
    kept = [code for code in range(levels.size) if code != most]
    marks = (place.reshape(-1)[:, None] == np.array(kept, dtype=np.int64)[None, :]).astype(np.float64)
    columns = [Column(f"{name}={levels[code]}", name, str(levels[code])) for code in kept]
    return marks, columns, str(levels[most])


def _column(name: str) -> Column:
    factor, mark, level = name.partition("=")
    return Column(name, factor, level) if mark else Column(name, name)


def _no_missing(missing: NDArray[np.bool_], name: str, groins: Array) -> None:
    lost = round(float(groins[missing].sum()))
    if lost:
        raise HingelineError(
            f"{name} is missing in {lost:,} of {round(float(groins.sum())):,} groins",
            f"argument covariates, {name}",
            "make a level of its own for 'not recorded', or leave these groins out and say so",
        )


def _profiles(matrix: Array) -> tuple[Array, Index]:
    if matrix.shape[1] == 0:
        return np.zeros((1, 0)), np.zeros(matrix.shape[0], dtype=np.int64)
    design, places = np.unique(matrix, axis=0, return_inverse=True)
    return design, places.reshape(-1).astype(np.int64)


def _whole(values: ArrayLike, name: str, size: int | None = None) -> Index:
    """A column of whole numbers of 0 or more, or a refusal."""
    try:
        column = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        column = np.full(1, np.nan)
    if column.ndim != 1 or column.size == 0 or (size is not None and column.size != size):
        raise HingelineError(
            f"{name} has the shape {column.shape}",
            f"argument {name}",
            "give one value a row" if size is None else f"give one value a row, {size} in all",
        )
    bad = ~np.isfinite(column) | (column < 0) | (column != np.floor(column))
    if np.any(bad):
        _refuse(f"A value of {name} is no whole number of 0 or more", name, bad, "give whole numbers")
    return column.astype(np.int64)


def _refuse(what: str, name: str, bad: NDArray[np.bool_], todo: str) -> None:
    raise HingelineError(what, f"argument {name}, row {int(np.argmax(bad))} (counted from 0)", todo)
