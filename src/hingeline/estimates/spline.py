"""A cubic B-spline over an age range, and the cost of its curvature.

Ages come in; the basis at those ages, its slopes and the matrices of the integrated squared second derivative
go out. The basis is de Boor's; the penalty over it is Wood's (Statistics and Computing 2017;27:985), so that
its value does not hang on how many knots there are.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline

Array = NDArray[np.float64]
DEGREE = 3


@dataclass(frozen=True)
class Spline:
    """Equally spaced cubic B-splines from ``lowest`` to ``highest``, straight lines beyond.

    Attributes
    ----------
    knots : array, shape (size + 4,)
        All knots, the three outside either end included; the inner ones span the age range exactly.
    size : int
        How many basis functions.
    """

    knots: Array
    size: int

    @property
    def lowest(self) -> float:
        """The youngest age of the range."""
        return float(self.knots[DEGREE])

    @property
    def highest(self) -> float:
        """The oldest age of the range."""
        return float(self.knots[self.size])

    def basis(self, ages: Array) -> Array:
        """Values of the basis functions, shape (ages, size); straight lines outside the range.

        A cubic that is followed outside its range runs away; the penalty's own continuation is a line.
        """
        inside = np.clip(ages, self.lowest, self.highest)
        values = self._evaluate(inside, 0)
        beyond = ages - inside
        if np.any(beyond != 0):
            values = values + beyond[:, None] * self._evaluate(inside, 1)
        return values

    def slopes(self, ages: Array) -> Array:
        """First derivatives of the basis functions a year, shape (ages, size)."""
        return self._evaluate(np.clip(ages, self.lowest, self.highest), 1)

    def curvature_costs(self, places: int) -> Array:
        """Matrices S of shape (places, size, size): coefs' S coefs is curvature squared about one place.

        Curvature squared is the integral of the squared second derivative, weighted by a hat about each of
        equally spaced ages; the hats add up to 1, so the matrices add up to the whole integral. Between the
        knots of splines and of hats the integrand is a polynomial of degree 3, which two Gauss points a span
        integrate without error.
        """
        tops = np.linspace(self.lowest, self.highest, places)
        edges = np.unique(np.concatenate([self.knots[DEGREE : self.size + 1], tops]))
        half = np.diff(edges) / 2
        middle = (edges[1:] + edges[:-1]) / 2
        at = np.concatenate([middle - half / np.sqrt(3), middle + half / np.sqrt(3)])
        second = self._evaluate(at, 2)
        weight = np.concatenate([half, half])
        hats = [np.interp(at, tops, row) if places > 1 else np.ones_like(at) for row in np.eye(places)]
        return np.stack([second.T @ ((weight * hat)[:, None] * second) for hat in hats])

    def _evaluate(self, ages: Array, derivative: int) -> Array:
        functions = BSpline(self.knots, np.eye(self.size), DEGREE)
        return np.asarray(functions(ages, nu=derivative), dtype=np.float64)


def equal_spline(lowest: float, highest: float, size: int) -> Spline:
    """Cubic B-splines on equally spaced knots.

    Parameters
    ----------
    lowest, highest : float
        The age range, in years.
    size : int
        Number of basis functions, at least 4.
    """
    spans = size - DEGREE
    step = (highest - lowest) / spans
    knots = lowest + step * np.arange(-DEGREE, spans + DEGREE + 1, dtype=np.float64)
    knots[DEGREE], knots[size] = lowest, highest
    return Spline(knots, size)
