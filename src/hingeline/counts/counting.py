"""Cases to the tally of patient patterns, by lazy expressions that run where the rows are.

Rows of ``cases.parquet`` come in; two kinds of question go to the engine: one group-by over cells, and one
over patients, which gives for each the number of groins and the lowest and highest cell. That determines the
pattern of everyone with one or two groins; the few with more are looked up by their key.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import narwhals as nw
import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from numpy.typing import NDArray

from .. import wording
from ..errors import HingelineError
from ..vocabulary import FIELD, UNKNOWN
from .bins import DEFAULT_HALF_YEARS_TO, DEFAULT_HIGHEST, age_bin_expression, check_bins, n_bins
from .cells import DEFAULT_DIMENSIONS, DERIVED, SUMS, check_dimensions, codes_of, combine, levels_of, radix
from .engine import Rows, opened
from .patterns import merge
from .tally import PatternTally, tally_of

Ints = NDArray[np.int64]
Frame = nw.LazyFrame[Any]
Progress = Callable[[str, int, int], None]

ROWS_A_PASS: Final = 50_000_000
"""Patients are counted in so many passes that none meets more rows than this: some 2.5 GB, which does not spill."""
WHAT: Final = "counting patients"
DENSE: Final = 100_000
"""Whole numbers that lie within so many of each other are numbered by their value, not by their rank."""


@dataclass(frozen=True)
class Derived:
    """Dimensions that are no field of a case and are made from fields where the rows are.

    Attributes
    ----------
    names : tuple of str
    fields : tuple of str
        The fields that they are made from.
    add : callable
        Takes the lazy frame of cases and returns it with a column for each name.
    """

    names: tuple[str, ...]
    fields: tuple[str, ...]
    add: Callable[[Frame], Frame]


def count_patterns(
    cases: Path | str | Sequence[Path | str] | Any,
    *,
    by: Sequence[str] = DEFAULT_DIMENSIONS,
    half_years_to: int = DEFAULT_HALF_YEARS_TO,
    highest: int = DEFAULT_HIGHEST,
    memory_limit: str | None = None,
    spill_in: Path | None = None,
    threads: int | None = None,
    rows_a_pass: int = ROWS_A_PASS,
    progress: Progress | None = None,
    derived: Derived | None = None,
    patients: bool = True,
) -> PatternTally:
    """Count cases as patient patterns.

    Parameters
    ----------
    cases : path, sequence of paths, pyarrow.Table or native relation
        One row a groin operated once; fields as in `hingeline.vocabulary.FIELDS`. A relation of DuckDB or a
        Spark frame is counted where it is.
    by : sequence of str
        Dimensions of a cell beside the age bin: fields of a case, or ``operated_year``.
    half_years_to, highest : int
        Age bins; see `hingeline.counts.bins.edges_years`.
    memory_limit, spill_in, threads : optional
        For the embedded engine.
    rows_a_pass : int
        Patients are split by their key so that one pass meets about so many rows.
    progress : callable, optional
        ``progress(what, done, of)``.
    derived : Derived, optional
        Further dimensions; those named in ``by`` are counted.
    patients : bool
        Without it only cells are counted: one question to the engine instead of two, and a tally without
        patterns, which serves estimates that do not ask whose groins they are.

    Returns
    -------
    PatternTally
        Integers only, in an order that does not depend on the order of the rows.

    Raises
    ------
    HingelineError
        When a file cannot be read, a field is missing or of the wrong kind, or a row lacks hospital, patient,
        age or sex (when counted by them).
    """
    by = check_dimensions(by, derived.names if derived else ())
    check_bins(half_years_to, highest)
    tell = progress or (lambda what, done, of: None)
    with opened(cases, memory_limit, threads, spill_in) as rows:
        frame = _fields(rows, by, derived).with_columns(
            age_bin_expression(nw.col("age_days"), half_years_to, highest).alias("age_bin")
        )
        tell(WHAT, 0, 1)
        keys = (*by, "age_bin")
        table = _cells(frame, keys)
        _check_cells(table, by, rows.where)
        cells, _ = combine(table, keys)
        groins = int(pc.sum(cells["n"]).as_py() or 0)
        if not patients:
            tell(WHAT, 1, 1)
            nobody = np.empty(0, dtype=np.int64)
            return tally_of(cells, merge(nobody, nobody, nobody), by, half_years_to, highest)
        levels = {name: _levels(cells[name]) for name in by} | {
            "age_bin": list(range(n_bins(half_years_to, highest)))
        }
        steps = dict(zip(keys, radix([max(len(levels[name]), 1) for name in keys]), strict=True))
        coded = frame.select("patient", _code(levels, steps).alias("code"))
        # keys are split only where the engine is ours; a cluster minds its own memory
        spans = _spans(table, -(-groins // max(rows_a_pass, 1)) if rows.connection is not None else 1)
        steps_told = len(spans) + 2
        owner, code, people = _patients(rows, coded, spans, lambda done: tell(WHAT, 1 + done, steps_told))
    numbers = sum(steps[name] * codes_of(cells[name], levels[name]) for name in keys)
    cell = np.searchsorted(np.asarray(numbers, dtype=np.int64), code)
    counted = int(people[owner].sum())
    if counted != groins:
        raise HingelineError(
            f"{wording.count(groins - counted, 'case')} of {wording.count(groins)} belong to no patient",
            rows.where,
            "Give every case a patient key; the field 'patient' must not be empty.",
        )
    tell(WHAT, steps_told, steps_told)
    return tally_of(cells, merge(owner, cell, people), by, half_years_to, highest)


def _fields(rows: Rows, by: Sequence[str], derived: Derived | None = None) -> Frame:
    """Take the fields that are counted, each as it will be grouped; refuse cases without them."""
    made = set(derived.names) & set(by) if derived else set()
    needed = {name: DERIVED.get(name, name) for name in ("patient", "age_days", *by) if name not in made}
    schema = rows.frame.collect_schema()
    sources = set(needed.values()) | set(derived.fields if derived and made else ())
    missing = sorted(sources - set(schema.names()))
    if missing:
        raise HingelineError(
            f"The cases lack {wording.listed([repr(name) for name in missing])}",
            rows.where,
            "Count by fields that the cases have, or let intake write them again.",
        )
    for name in ("patient", "age_days"):
        if not schema[name].is_integer():
            raise HingelineError(
                f"The field {name!r} holds {schema[name]}, not whole numbers",
                rows.where,
                "Patient keys are 64-bit whole numbers, ages whole days; let intake write the cases again.",
            )
    columns = []
    for name, source in needed.items():
        value = nw.col(source)
        if name == "operated_year":
            value = value.dt.year()
        elif schema[source] == nw.String and not FIELD[name].required:
            value = value.fill_null(UNKNOWN)
        columns.append(value.alias(name))
    frame = derived.add(rows.frame) if derived and made else rows.frame
    return frame.select(*columns, *(nw.col(name) for name in by if name in made))


def _cells(frame: Frame, keys: Sequence[str]) -> pa.Table:
    """Count groins and sum their ages by cell; tell the least and greatest key of a patient there."""
    days = nw.col("age_days").cast(nw.Int64)
    return _collected(
        frame.group_by(*keys).agg(
            nw.len().alias("n"),
            days.sum().alias("days"),
            (days * days).sum().alias("days2"),
            nw.col("patient").min().alias("first"),
            nw.col("patient").max().alias("last"),
        ),
        (*SUMS, "first", "last"),
    )


def _collected(frame: Frame, numbers: Sequence[str]) -> pa.Table:
    """Bring an answer home as Arrow, its numbers as 64-bit integers."""
    table: pa.Table = frame.collect(backend="pyarrow").to_native()
    for name in numbers:
        place = table.column_names.index(name)
        table = table.set_column(place, name, table[name].cast(pa.int64()))
    return table


def _check_cells(table: pa.Table, by: Sequence[str], where: str) -> None:
    """Refuse rows without an age, below nought, or without what a case must have."""

    again = "Let intake write the cases again: it sets such rows aside with their reason."

    def refuse(name: str, value: int | None, what: str) -> None:
        column = table[name]
        held = pc.is_null(column) if value is None else pc.equal(column, pa.scalar(value, column.type))
        # a filter leaves out what it cannot tell
        found = int(pc.sum(table["n"].filter(held)).as_py() or 0)
        if found:
            raise HingelineError(f"{wording.count(found, 'case')} {what}", where, again)

    refuse("age_bin", None, "without an age")
    refuse("age_bin", -1, "with an age below nought")
    for name in by:
        if name in FIELD and FIELD[name].required:
            refuse(name, None, f"without the field {name!r}")


def _levels(column: pa.ChunkedArray[Any]) -> list[Any]:
    """Levels by which a cell is numbered; whole numbers close together keep the gaps between them."""
    found = levels_of(column)
    known = [level for level in found if level is not None]
    if not known or not pa.types.is_integer(column.type) or known[-1] - known[0] >= DENSE:
        return found
    return [*range(known[0], known[-1] + 1), *found[len(known) :]]


def _code(levels: dict[str, list[Any]], steps: dict[str, int]) -> nw.Expr:
    """Number a row's cell by mixed radix, as `cells.rank` does, where the row is."""
    largest = sum(step * max(len(levels[name]) - 1, 0) for name, step in steps.items())
    kind = nw.Int32 if largest < 2**31 else nw.Int64
    total = nw.lit(0)
    for name, step in steps.items():
        place = nw.col(name) if name == "age_bin" else _place(name, levels[name])
        # some engines multiply two small numbers as small numbers, whatever comes of it
        total = total + place.cast(kind) * step
    return total.cast(kind)


def _place(name: str, levels: Sequence[Any]) -> nw.Expr:
    """Find a value's place among sorted levels by halving, so that thousands of levels stay shallow."""

    def search(low: int, high: int) -> nw.Expr:
        if high - low <= 1:
            return nw.lit(low)
        middle = (low + high) // 2
        return (
            nw.when(nw.col(name) < levels[middle]).then(search(low, middle)).otherwise(search(middle, high))
        )

    if not levels:
        return nw.lit(0)
    known = levels[:-1] if levels[-1] is None else levels
    if known and type(known[0]) is int and known[-1] - known[0] == len(known) - 1:
        return (nw.col(name).cast(nw.Int64) - known[0]).fill_null(len(known))
    if levels[-1] is not None:
        return search(0, len(levels))
    return nw.when(nw.col(name).is_null()).then(nw.lit(len(levels) - 1)).otherwise(search(0, len(levels) - 1))


def _spans(table: pa.Table, parts: int) -> list[tuple[int, int]]:
    """Cut the keys' range into equal spans, which hashed keys fill evenly.

    Keys that lie unevenly make a span larger than meant; the engine then spills to disk: slower, not wrong.
    """
    firsts = [key for key in table["first"].to_pylist() if key is not None]
    if not firsts:
        return [(0, 0)]
    low, high = min(firsts), max(key for key in table["last"].to_pylist() if key is not None)
    cuts = [low + (high - low + 1) * part // parts for part in range(parts + 1)]
    return [(first, following - 1) for first, following in itertools.pairwise(cuts)]


def _patients(
    rows: Rows, coded: Frame, spans: Sequence[tuple[int, int]], tell: Callable[[int], None]
) -> tuple[Ints, Ints, Ints]:
    """Count patients by pattern; returns (owner, code) pairs and the patients behind each owner."""
    named = coded.filter(~nw.col("patient").is_null())
    answers = []
    key = nw.col("patient")
    for turn, (first, last) in enumerate(spans):
        tell(turn)
        some = named if len(spans) == 1 else named.filter((key >= first) & (key <= last))
        answers.append(_collected(_by_groins(some), ("n", "low", "high", "patients")))
    tell(len(spans))
    table = pa.concat_tables(answers)
    columns = (table[name].to_numpy() for name in ("n", "low", "high", "patients"))
    few = table["n"].to_numpy() <= 2
    n, low, high, patients = (column[few] for column in columns)
    place = np.arange(n.size, dtype=np.int64)
    owner, code = np.concatenate([place, place[n == 2]]), np.concatenate([low, high[n == 2]])
    many = table["many"].drop_null().combine_chunks()
    if not len(many):
        return owner, code, patients.astype(np.int64)
    pairs = _collected(_of_those(rows, named, many), ("patient", "code"))
    _, who = np.unique(pairs["patient"].to_numpy(), return_inverse=True)
    return (
        np.concatenate([owner, n.size + who]),
        np.concatenate([code, pairs["code"].to_numpy()]),
        np.concatenate([patients, np.ones(len(many), dtype=np.int64)]).astype(np.int64),
    )


def _a_patient(coded: Frame) -> Frame:
    """Give each patient the number of groins and the lowest and highest cell."""
    code = nw.col("code")
    return coded.group_by("patient").agg(
        nw.len().alias("n"), code.min().alias("low"), code.max().alias("high")
    )


def _by_groins(coded: Frame) -> Frame:
    """Count patients with one or two groins by pattern; name the others, one row each."""
    many = nw.when(nw.col("n") > 2).then(nw.col("patient")).alias("many")
    return (
        _a_patient(coded)
        .with_columns(many)
        .group_by("n", "low", "high", "many")
        .agg(nw.len().alias("patients"))
    )


def _of_those(rows: Rows, coded: Frame, many: pa.Array[Any]) -> Frame:
    """Take the groins of patients with more than two: as many rows as their patterns need anyway."""
    keys = rows.keys("patient", many)
    if keys is None:
        keys = _a_patient(coded).filter(nw.col("n") > 2).select("patient")
    return coded.join(keys, on="patient", how="semi")
