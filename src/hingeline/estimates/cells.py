"""Checked rows of counts added up to cells of one age, one hospital and one accuracy of typing.

Plain arrays come in as a user of the estimators hands them over; refused ones raise, the rest go out as the
cells that a curve's likelihood needs, with the way back from each cell to its rows.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hingeline.errors import HingelineError
from hingeline.estimates.hinge_rows import Rows, check_rows

Array = NDArray[np.float64]
Index = NDArray[np.int64]


@dataclass(frozen=True)
class Cells:
    """Counts by cell, and the rows they came from.

    Attributes
    ----------
    age_years, direct, total, sensitivity, specificity : array, shape (cells,)
        Age, patients' counts and the accuracy with which the type was seen.
    group : array of int, shape (cells,)
        Place of the cell's hospital in ``rows.group_names``.
    cell_of_row : array of int, shape (rows,)
    rows : Rows
        As checked: what each row counts, how many patients it stands for, and its pattern of patients.
    """

    age_years: Array
    group: Index
    direct: Array
    total: Array
    sensitivity: Array
    specificity: Array
    cell_of_row: Index
    rows: Rows

    @property
    def labels(self) -> tuple[object, ...]:
        """The hospitals, sorted."""
        return self.rows.group_names


def collapse(
    age: ArrayLike,
    direct: ArrayLike,
    total: ArrayLike,
    *,
    groups: ArrayLike | None = None,
    weights: ArrayLike | None = None,
    clusters: ArrayLike | None = None,
    sensitivity: float | ArrayLike = 1,
    specificity: float | ArrayLike = 1,
    unit: str = "years",
) -> Cells:
    """Check rows and add them up by age, hospital, sensitivity and specificity.

    Arguments and errors are those of `fit_curve`; a table without any case is refused too.
    """
    rows = check_rows(
        age,
        direct,
        total,
        groups=groups,
        weights=weights,
        clusters=clusters,
        sensitivity=sensitivity,
        specificity=specificity,
        unit=unit,
    )
    keys = np.column_stack([rows.age_years, rows.group, rows.sensitivity, rows.specificity])
    distinct, places = np.unique(keys, axis=0, return_inverse=True)
    cell_of_row = places.reshape(-1).astype(np.int64)
    total_by_cell = add_up(cell_of_row, rows.weights * rows.total, len(distinct))
    if total_by_cell.sum() == 0:
        raise HingelineError("There are no cases", "argument total", "give at least one case")
    return Cells(
        age_years=distinct[:, 0],
        group=distinct[:, 1].astype(np.int64),
        direct=add_up(cell_of_row, rows.weights * rows.direct, len(distinct)),
        total=total_by_cell,
        sensitivity=distinct[:, 2],
        specificity=distinct[:, 3],
        cell_of_row=cell_of_row,
        rows=rows,
    )


def add_up(places: Index, values: Array, size: int) -> Array:
    """Sum of the values at each of ``size`` places."""
    return np.bincount(places, values, size).astype(np.float64, copy=False)


def finite_column(values: ArrayLike, name: str = "age") -> Array:
    """A column of finite numbers, one number being a column of one; or a refusal."""
    try:
        column = np.atleast_1d(np.asarray(values, dtype=np.float64))
    except (TypeError, ValueError):
        column = np.full(1, np.nan)
    if column.ndim != 1 or not np.all(np.isfinite(column)):
        raise HingelineError(f"{name} holds something other than numbers", f"argument {name}", "give numbers")
    return column


def open_unit(value: float, name: str) -> float:
    """A number strictly between 0 and 1, or a refusal."""
    if not 0 < value < 1:
        raise HingelineError(f"{name} is {value}", f"argument {name}", "give a number between 0 and 1")
    return float(value)


def checked_mix(mix: ArrayLike, groups: int, ages: int | None = None) -> Array:
    """Hospital weights, (hospitals,) or for so many ages (ages, hospitals), scaled to add up to 1; or a
    refusal."""
    weights = np.asarray(mix, dtype=np.float64)
    if weights.shape not in ((groups,), (ages, groups)):
        raise HingelineError(
            f"The mix has the shape {weights.shape}",
            "argument mix",
            f"give {groups} weights, one a hospital",
        )
    sums = weights.sum(axis=-1, keepdims=True)
    if not np.all(np.isfinite(weights)) or np.any(weights < 0) or np.any(sums <= 0):
        raise HingelineError("A mix is no set of weights", "argument mix", "give 0 or more, not all 0")
    scaled: Array = weights / sums
    return scaled
