"""Tables of answers of two readers: paired answers come in, a checked table of counts goes out.

Answers that say nothing ('unknown', unreadable) are counted and kept apart: agreement is then told without them
and with them as an answer of their own. Limits may come from redrawing patients.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike, NDArray

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.patterns import percentile_interval, resample

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class ReadTwice:
    """Paired answers as tables.

    Attributes
    ----------
    labels : tuple of str
        Answers that say something.
    known : array, (answers, answers)
        Groins to which both readers gave one of them: the first reader in rows.
    labels_all : tuple of str
        The same, and what says nothing at the end.
    all : array, (answers + 1, answers + 1)
        All groins, with what says nothing as an answer.
    first_unknown, second_unknown, both_unknown : int
        Groins that only the first, only the second, or both could not read.
    """

    labels: tuple[str, ...]
    known: Floats
    labels_all: tuple[str, ...]
    all: Floats
    first_unknown: int
    second_unknown: int
    both_unknown: int

    def to_frame(self) -> pa.Table:
        """One row a pair of answers."""
        first, second = np.meshgrid(np.arange(len(self.all)), np.arange(len(self.all)), indexing="ij")
        return pa.table(
            {
                "first": [self.labels_all[i] for i in first.ravel()],
                "second": [self.labels_all[i] for i in second.ravel()],
                "n": self.all.ravel().astype(np.int64),
            }
        )

    def __str__(self) -> str:
        return wording.read_twice_told(
            int(self.all.sum()),
            int(self.known.sum()),
            self.first_unknown,
            self.second_unknown,
            self.both_unknown,
        )


def read_twice(
    first: Sequence[str],
    second: Sequence[str],
    *,
    labels: Sequence[str] | None = None,
    unknown: Sequence[str] = ("unknown", "unreadable", ""),
    n: ArrayLike | None = None,
) -> ReadTwice:
    """Tabulate paired answers.

    Parameters
    ----------
    first, second : sequences of str, (rows,)
        Answers of the two readers to the same groins.
    labels : sequence of str, optional
        Answers that may be given, in order; those that occur, sorted, unless given.
    unknown : sequence of str
        Answers that say nothing.
    n : array_like of int, (rows,), optional
        Groins of the row; 1 each unless given.

    Raises
    ------
    HingelineError
        When the readers' answers are not as many, an answer is not among the labels, or there are none.
    """
    if len(first) != len(second):
        raise HingelineError(
            f"The first reader gave {len(first)} answers and the second {len(second)}",
            "first, second",
            "Give both readers' answers to the same groins, in the same order",
        )
    nothing = set(unknown)
    given = sorted({a for a in (*first, *second) if a not in nothing})
    names = tuple(given if labels is None else labels)
    place = {name: i for i, name in enumerate(names)}
    strange = [a for a in given if a not in place]
    if strange:
        raise HingelineError(
            f"The answer {strange[0]!r} is none of those that may be given",
            "first, second",
            f"Give one of {', '.join(names)}, or add it to 'labels'",
        )
    if not names:
        raise HingelineError("No reader gave an answer", "first, second", "Give answers that say something")
    last = len(names)
    size = checked_counts(np.ones(len(first)) if n is None else n, "n")
    if size.shape != (len(first),):
        raise HingelineError("'n' has not one number an answer", "n", "Give as many numbers as answers")
    table = np.zeros((last + 1, last + 1))
    rows = [place.get(a, last) for a in first]
    columns = [place.get(a, last) for a in second]
    np.add.at(table, (rows, columns), size)
    return ReadTwice(
        labels=names,
        known=table[:last, :last],
        labels_all=(*names, "unknown"),
        all=table,
        first_unknown=int(table[last, :last].sum()),
        second_unknown=int(table[:last, last].sum()),
        both_unknown=int(table[last, last]),
    )


def bootstrap_limits(
    statistic: Callable[[Floats], float],
    table: Floats,
    patients: ArrayLike,
    patient_weights: ArrayLike | None,
    replicates: int,
    seed: int,
    level: float,
    workers: int | None,
) -> tuple[float, float]:
    """Percentile limits of a statistic of a table whose patients are redrawn.

    Parameters
    ----------
    statistic : callable
        Takes a table.
    table : array
        What the patients add up to.
    patients : array_like, (patterns, *table.shape)
    patient_weights : array_like of int, (patterns,), or None
    """
    each = checked_counts(patients, "patients")
    if each.ndim != table.ndim + 1 or each.shape[1:] != table.shape:
        raise HingelineError(
            "The patients' tables have another shape than the table",
            "patients",
            "Give one table a pattern of patients, with the same answers",
        )
    weights = (
        np.ones(len(each)) if patient_weights is None else checked_counts(patient_weights, "patient_weights")
    )
    if weights.shape != (len(each),) or not np.allclose(np.tensordot(weights, each, 1), table):
        raise HingelineError(
            "The patients do not add up to the table",
            "patients, patient_weights",
            "Give one weight a pattern; patterns times weights are the table",
        )
    values = resample(
        lambda drawn: statistic(np.tensordot(drawn, each, 1)), weights, replicates=replicates, seed=seed,
        workers=workers,
    )  # fmt: skip
    return percentile_interval(values, level)


def checked_counts(counts: ArrayLike, name: str) -> Floats:
    """Counts of 0 or more, or a refusal."""
    try:
        values = np.asarray(counts, dtype=np.float64)
    except (TypeError, ValueError):
        raise HingelineError("A count is not a number", name, "Give whole numbers of groins") from None
    bad = ~np.isfinite(values) | (values < 0)
    if bad.any():
        worst = float(values[bad].ravel()[0])
        raise HingelineError(f"A count is {worst:g}", name, "Give numbers of groins, 0 or more")
    return values


def checked_table(table: ArrayLike) -> Floats:
    """A square table of counts that holds someone."""
    counts = checked_counts(table, "table")
    if counts.ndim != 2 or counts.shape[0] != counts.shape[1] or counts.size == 0:
        raise HingelineError(
            f"The table of two readers is not square: {' by '.join(map(str, counts.shape))}",
            "table",
            "Give one row and one column an answer, in one order",
        )
    if counts.sum() == 0:
        raise HingelineError("No groin was read twice", "table", "Give at least one")
    return counts


def checked_level(level: float) -> None:
    """A coverage level, or a refusal."""
    if not 0 < level < 1:
        raise HingelineError(f"{level} is no coverage level", "level", "Give a number between 0 and 1")


def named(labels: Sequence[str] | None, answers: int) -> tuple[str, ...]:
    """The answers' names; numbers when none are given."""
    names = tuple(str(i + 1) for i in range(answers)) if labels is None else tuple(labels)
    if len(names) != answers:
        raise HingelineError(
            f"There are {len(names)} names for {answers} answers", "labels", "Give one name an answer"
        )
    return names
