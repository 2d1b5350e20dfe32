"""Visits after the operation, read from another sheet or from files of their own.

A legend with ``[follow_up]`` and a hospital's sources come in. A view ``visit`` in the database goes out, one row a
visit: each field as ``<field>``, ``<field>_text`` and ``<field>_bad``, as among groins,
by the same door for identifiers and the same reading of cells. Whose visit it is, is for `hingeline.records.linking`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from ..errors import HingelineError
from .frames import Frame, frames
from .groins import fill
from .legend_model import VISIT_KINDS, Drop, Legend, Meaning, place_of
from .readings import SQL_TYPES
from .source import Source, open_source


class VisitsLegend(Legend):
    """The ``[follow_up]`` of a legend as a legend of its own, which says where it stands."""

    def where(self, key: str = "") -> str:
        """File and line of a key of ``[follow_up]``, for an error message."""
        return place_of(self.path, self.lines, f"follow_up.{key}" if key else "follow_up")


@dataclass(frozen=True)
class Visits:
    """What was read of one hospital's visits.

    Attributes
    ----------
    opened : tuple of Source
    frames : tuple of Frame
        Which of their columns are read, and how.
    fields : frozenset of str
        Fields that the legend maps to columns or constants of the visits.
    told : tuple of str
        What was detected in the files and how their dates are ordered, as sentences.
    """

    opened: tuple[Source, ...] = ()
    frames: tuple[Frame, ...] = ()
    fields: frozenset[str] = frozenset()
    told: tuple[str, ...] = ()


def parted(sources: Sequence[Path | str], legend: Legend) -> tuple[list[Path | str], list[Path | str]]:
    """Part a hospital's sources into those of operations and those of visits.

    Without ``files`` in ``[follow_up]`` the visits stand on another sheet of each file of operations, so that a
    source is on both lists.

    Raises
    ------
    HingelineError
        When no source is left for the operations, or none holds visits.
    """
    operations = [source for source in sources if not legend.is_visits(Path(source).name)]
    if legend.follow_up is None:
        return operations, []
    if not operations:
        raise HingelineError(
            f"{legend.hospital} has no file of operations: each name fits [follow_up] files",
            legend.where("follow_up.files"),
            "Correct the patterns, or name the file of operations among the hospital's sources",
        )
    if not legend.follow_up.files:
        return operations, operations
    visits = [source for source in sources if legend.is_visits(Path(source).name)]
    if not visits:
        raise HingelineError(
            f"No source of {legend.hospital} fits [follow_up] files",
            legend.where("follow_up.files"),
            "Correct the patterns, or name the files of visits among the hospital's sources",
        )
    return operations, visits


def visits_legend(legend: Legend) -> VisitsLegend | None:
    """``[follow_up]`` as a legend, its dates ordered as the operations' unless it says otherwise; None without one."""
    how = legend.follow_up
    if how is None:
        return None
    order = how.dates.order or legend.dates.order
    return VisitsLegend(
        hospital=legend.hospital,
        form="operations",
        file=how.file,
        dates=how.dates.model_copy(update={"order": order}),
        drop=Drop(columns=(*how.drop.columns, *legend.drop.columns)),
        fields=how.fields,
        path=legend.path,
        lines=legend.lines,
    )


def open_visits(
    sources: Sequence[Path | str], how: VisitsLegend, refuse: Callable[[Source, Legend], None]
) -> list[Source]:
    """Open the visits' sheets or files; `refuse` stops at columns that identify people."""
    opened = []
    for path in sources:
        source = open_source(path, how.file, columns=how.columns())
        if how.file.sheet is not None and not source.sheet:
            raise HingelineError(
                f"The legend says that visits stand on sheet {how.file.sheet!r}, but the file has no sheets",
                f"{how.where('file.sheet')}; {source.where}",
                'Name the files of visits: [follow_up] files = ["…"]',
            )
        refuse(source, how)
        opened.append(source)
    return opened


def read_visits(
    database: Any,
    opened: Sequence[Source],
    legend: Legend,
    cutoff: date,
    key: bytes,
    *,
    first: int = 0,
    settled: Mapping[tuple[str, str], Meaning] | None = None,
) -> Visits:
    """Make the view ``visit`` of all opened sources of visits.

    Parameters
    ----------
    database : duckdb connection
    opened : sequence of Source
    legend : Legend
        The hospital's; without ``[follow_up]`` the view has no row.
    cutoff : datetime.date
    key : bytes
        As for the operations, so that a patient has the same key in both.
    first : int
        Number of the first source, behind those of the operations.
    settled : mapping of (str, str) to meaning, optional
        By field and folded cell, codes that a person settled.

    Returns
    -------
    Visits

    Notes
    -----
    Beside the fields: ``visit`` (rises with file and row), ``source_number``, ``source_file``, ``sheet``,
    ``source_row``, ``cutoff``, and ``meaning``, by which two rows that say the same are known. ``side`` is "left",
    "right", "both" or NULL.
    """
    how = visits_legend(legend)
    if how is None or not opened:
        return _no_visits(database, cutoff)
    made = [replace(frame, number=first + frame.number) for frame in frames(opened, how, settled=settled)]
    told, _ = fill(database, "visit_read", "visit", made, how, cutoff, key, {})
    have = {row[0] for row in database.execute("DESCRIBE visit_read").fetchall()}
    # A visit of both sides was read as two groins; here it is one row again.
    database.execute(
        f"CREATE VIEW visit AS SELECT * REPLACE (side_typed AS side){_added(have, cutoff)} FROM visit_read "
        "WHERE side_typed IS DISTINCT FROM 'both' OR side = 'left'"
    )
    return Visits(
        opened=tuple(opened),
        frames=tuple(made),
        fields=frozenset(how.fields),
        told=(*(sentence for source in opened for sentence in source.detected), *told),
    )


def _no_visits(database: Any, cutoff: date) -> Visits:
    """Make the view ``visit`` without a row."""
    database.execute(
        f"CREATE VIEW visit AS SELECT 0::BIGINT AS visit, 0::UHUGEINT AS meaning, '' AS source_file, '' AS sheet, "
        f"0::BIGINT AS source_row{_added(set(), cutoff)} WHERE false"
    )
    return Visits()


def _added(have: set[str], cutoff: date) -> str:
    """SQL of every column that linking may read and the legend does not map."""
    kinds: dict[str, str] = {}
    for name, kind in VISIT_KINDS.items():
        kinds |= {name: SQL_TYPES[kind], f"{name}_text": "VARCHAR", f"{name}_bad": "BOOLEAN"}
        if kind == "date":
            kinds |= {f"{name}_short": "BOOLEAN", f"{name}_ambiguous": "BOOLEAN"}
    missing = "".join(f", NULL::{kind} AS {name}" for name, kind in kinds.items() if name not in have)
    return f"{missing}, DATE '{cutoff.isoformat()}' AS cutoff"
