"""Where the rows are: Parquet files opened by an embedded DuckDB, or a relation that an engine already holds.

Paths or a native relation come in, one lazy Narwhals frame goes out; the expressions built on it do not know
which engine runs them. Limits on memory and the folder for spilling are set before the first row is read.
"""

from __future__ import annotations

import glob
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import duckdb
import narwhals as nw
import pyarrow as pa

from ..errors import HingelineError

Frame = nw.LazyFrame[Any]

MEMORY_LIMIT: Final = "3GB"
"""What the embedded engine may hold before it spills; the process needs some hundred megabytes more."""

SPILLED: Final = "partial-spill-"
"""Beginning of the name of a folder in a study to which an engine spills: the next command sweeps it after a kill."""


@dataclass(frozen=True)
class Rows:
    """Cases in the engine that holds them.

    Attributes
    ----------
    frame : narwhals.LazyFrame
    connection : duckdb.DuckDBPyConnection or None
        The engine when it is our own: a list of keys can then be handed to it.
    where : str
        What to name in an error.
    """

    frame: Frame
    connection: duckdb.DuckDBPyConnection | None
    where: str

    def keys(self, name: str, values: pa.Array[Any]) -> Frame | None:
        """Hand a column of keys to our own engine; None when it is somebody else's."""
        if self.connection is None:
            return None
        return nw.from_native(self.connection.from_arrow(pa.table({name: values}))).lazy()


@contextmanager
def opened(
    cases: Path | str | Sequence[Path | str] | Any,
    memory_limit: str | None = None,
    threads: int | None = None,
    spill_in: Path | None = None,
) -> Iterator[Rows]:
    """Open cases and close the engine afterwards.

    Parameters
    ----------
    cases : path, sequence of paths, pyarrow.Table or native relation
        Parquet files of cases, a table in memory, or a lazy frame of any engine that Narwhals knows.
    memory_limit : str, optional
        For the embedded engine, such as ``"2GB"``.
    threads : int, optional
        For the embedded engine; all cores by default.
    spill_in : Path, optional
        Folder in which the embedded engine may put what does not fit; the system's for temporary files by default.

    Raises
    ------
    HingelineError
        When a file is not there or is no Parquet, or the engine fails on it.
    """
    if isinstance(cases, (str, Path)):
        cases = [cases]
    if isinstance(cases, (list, tuple)) and all(isinstance(path, (str, Path)) for path in cases):
        paths = [Path(path) for path in cases]
    elif isinstance(cases, pa.Table):
        paths = []
    else:
        yield Rows(_foreign(cases), None, "the relation of cases")
        return
    where = ", ".join(str(path) for path in paths) or "the table of cases"
    if isinstance(cases, (list, tuple)):
        _check(paths)
    with (
        tempfile.TemporaryDirectory(prefix=SPILLED if spill_in else "hingeline-", dir=spill_in) as spill,
        _embedded(spill, memory_limit, threads) as engine,
    ):
        try:
            if isinstance(cases, pa.Table):
                native = engine.from_arrow(cases)
            else:
                # a path is a path, not a pattern: brackets in a folder's name are taken as they stand
                native = engine.read_parquet([glob.escape(str(path)) for path in paths], union_by_name=True)
            yield Rows(nw.from_native(native).lazy(), engine, where)
        except duckdb.OutOfMemoryException:
            raise HingelineError(
                "The cases do not fit in the memory that the count may use",
                where,
                "Raise memory_limit, or free space on the disk that holds temporary files.",
            ) from None
        except duckdb.Error as error:
            raise HingelineError(
                f"The cases cannot be read: {str(error).splitlines()[0]}",
                where,
                "Make the file again with 'hingeline run'; it may be damaged or no Parquet file.",
            ) from None


def _foreign(cases: Any) -> Frame:
    try:
        frame: Frame = nw.from_native(cases).lazy()
        return frame
    except TypeError:
        raise HingelineError(
            f"Cases cannot be read from a {type(cases).__name__}",
            "argument cases",
            "Give the path of a Parquet file, a list of such paths, or a relation of DuckDB or Spark.",
        ) from None


def _check(paths: Sequence[Path]) -> None:
    if not paths:
        raise HingelineError("There is no file of cases", "argument cases", "Give at least one Parquet file.")
    for path in paths:
        if not path.is_file():
            raise HingelineError(
                "There is no file of cases here", str(path), "Run 'hingeline run' first, or correct the path."
            )


@contextmanager
def _embedded(
    spill: str, memory_limit: str | None, threads: int | None
) -> Iterator[duckdb.DuckDBPyConnection]:
    settings: dict[str, str | bool | int | float | list[str]] = {
        "memory_limit": memory_limit or MEMORY_LIMIT,
        "temp_directory": spill,
        # tallies are sorted by us: the engine need not remember the order of rows
        "preserve_insertion_order": False,
    }
    if threads is not None:
        settings["threads"] = threads
    try:
        engine = duckdb.connect(config=settings)
    except duckdb.Error as error:
        raise HingelineError(
            f"The engine refuses its settings: {str(error).splitlines()[0]}",
            "memory_limit, threads",
            "Give memory as '2GB' and threads as a whole number from 1.",
        ) from None
    try:
        yield engine
    finally:
        engine.close()
