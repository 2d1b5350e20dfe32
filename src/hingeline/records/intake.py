"""Intake: a hospital's exports and its legend to checked cases, with every row accounted for.

Paths and a `Legend` come in; an `Intake` goes out: the cases, what was set aside, corrected or noted and why,
and the tally of the way from rows to cases. Files are parsed once, in an in-memory DuckDB; no identifier and
no date of birth passes this door.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq

from .. import wording
from ..errors import HingelineError
from ..vocabulary import CASE_SCHEMA
from .decisions import Decisions
from .doubts import doubts
from .expected import reader_of
from .flow import count_flow
from .frames import Frame, frames
from .groins import connected, read_groins
from .identifiers import suspects, told_of_notes
from .judging import cases, judge
from .legend import Legend
from .legend_model import fold
from .linking import link
from .listing import list_broken, list_rows_without_groin, summarise, write_set_aside
from .note_columns import NoteReader
from .note_compare import Compared, compared
from .questions import QUESTION_SCHEMA
from .rule import Rule
from .rules import RULES
from .source import Source, open_source
from .unsettled import unsettled
from .visits import open_visits, parted, read_visits, visits_legend

__all__ = ["Intake", "check_hospital", "read_hospital", "summarise", "write_set_aside"]

Progress = Callable[[str, int, int], None]
"""``progress(what, done, of)``."""


@dataclass(frozen=True)
class Intake:
    """What intake made of one hospital's exports.

    Attributes
    ----------
    hospital : str
    n_cases : int
    set_aside : pyarrow.Table
        In `SET_ASIDE_SCHEMA`: what was set aside, corrected or noted.
    flow : pyarrow.Table
        In `hingeline.records.flow.FLOW_SCHEMA`: the way from rows to cases, in counts.
    detected : tuple of str
        What was detected in the files and why, as sentences, then what in the legend looks doubtful.
    fingerprints : tuple of (str, str)
        File name and SHA-256 of each source.
    questions : pyarrow.Table
        In `QUESTION_SCHEMA`: what a person should settle.
    visits_from : tuple of (str, str)
        File and sheet of each source of visits, by which what is listed of them is told apart.
    written : Path or None
        The Parquet file into which the cases were written; without one they are held in memory.
    compared : tuple of (str, str, int)
        Type typed, type read from the note, groins: where the hospital sends both.
    """

    hospital: str
    n_cases: int
    set_aside: pa.Table
    flow: pa.Table
    detected: tuple[str, ...]
    fingerprints: tuple[tuple[str, str], ...]
    questions: pa.Table = field(default_factory=QUESTION_SCHEMA.empty_table)
    visits_from: tuple[tuple[str, str], ...] = ()
    written: Path | None = None
    compared: Compared = ()
    _held: pa.Table | None = field(default=None, repr=False)

    @property
    def cases(self) -> pa.Table:
        """The cases, in `hingeline.vocabulary.CASE_SCHEMA` and in the order of files, rows and sides."""
        if self._held is not None:
            return self._held
        return pq.read_table(self.written) if self.written is not None else CASE_SCHEMA.empty_table()

    def to_frame(self) -> pa.Table:
        """Return the cases."""
        return self.cases

    def __str__(self) -> str:
        steps = {(row["step"], row["reason"]): row for row in self.flow.to_pylist() if row["reason"] == ""}
        rows = steps["rows read", ""]["rows"]
        groins = steps["groins read", ""]["groins"]
        return wording.records_read(self.hospital, rows, groins, self.n_cases, groins - self.n_cases)


def read_hospital(
    sources: Sequence[Path | str],
    legend: Legend,
    *,
    cutoff: date,
    key: bytes,
    progress: Progress | None = None,
    rules: Sequence[Rule] = RULES,
    decisions: Decisions | None = None,
    into: Path | None = None,
    spill_in: Path | None = None,
) -> Intake:
    """Read one hospital's exports.

    Parameters
    ----------
    sources : sequence of Path or str
        Its files, all of the form that the legend describes.
    legend : Legend
    cutoff : date
        Data cut-off of the study: later operations are in the future.
    key : bytes
        Secret; of patients' and surgeons' keys the first 64 bits of HMAC-SHA-256 over hospital,
        field and key are kept.
    progress : callable, optional
        ``progress(what, done, of)``.
    rules : sequence of Rule
        What a case must satisfy.
    decisions : Decisions, optional
        What a person has settled.
    into : Path, optional
        Parquet file that is made of the cases as they come, so that however many there are none need be held.
    spill_in : Path, optional
        Private folder for what does not fit memory; the system's folder for temporary files unless given.

    Raises
    ------
    HingelineError
        When a file cannot be opened, lacks a column of the legend, or holds a column of identifiers that the
        legend neither drops nor uses as a key.
    """
    if not sources:
        raise HingelineError(
            f"{legend.hospital} has no files to read", legend.where(), "Name its sources in the study"
        )
    tell = progress or (lambda what, done, of: None)
    operations, of_visits = parted(sources, legend)
    with ExitStack() as open_files:
        opened = []
        for number, path in enumerate(operations):
            tell(f"opening {Path(path).name}", number, len(sources) + 1)
            source = open_files.enter_context(open_source(path, legend.file, columns=legend.columns()))
            _refuse_identifiers(source, legend)
            opened.append(source)
        how = visits_legend(legend)
        visits = open_visits(of_visits, how, _refuse_identifiers) if how is not None else []
        for source in visits:
            open_files.enter_context(source)
        tell(f"reading {legend.hospital}", len(sources), len(sources) + 1)
        intake = _judged(
            opened,
            visits,
            legend,
            cutoff,
            key,
            rules,
            Decisions() if decisions is None else decisions,
            into,
            spill_in,
        )
    tell(f"reading {legend.hospital}", len(sources) + 1, len(sources) + 1)
    return intake


def check_hospital(
    sources: Sequence[Path | str],
    legend: Legend,
    *,
    cutoff: date,
    key: bytes,
    progress: Progress | None = None,
) -> Intake:
    """Read one hospital's exports to tell what is wrong: as `read_hospital`, which writes nothing either."""
    return read_hospital(sources, legend, cutoff=cutoff, key=key, progress=progress)


def _judged(
    opened: Sequence[Source],
    of_visits: Sequence[Source],
    legend: Legend,
    cutoff: date,
    key: bytes,
    rules: Sequence[Rule],
    decisions: Decisions,
    into: Path | None,
    spill_in: Path | None,
) -> Intake:
    notes = None
    if any(name == "note" for _, name, _ in legend.mapped()):
        needs_side = legend.form == "operations" and "side" not in legend.fields
        notes = NoteReader(key, decisions.notes(legend.hospital), needs_side)
    settled = decisions.codes(legend.hospital, key)
    made = frames(opened, legend, notes, settled)
    mapped = frozenset(name for frame in made for name in frame.columns)
    rows_without: dict[int, list[pa.Array[Any]]] = {}
    with connected(spill_in) as database:
        told, orders = read_groins(database, made, legend, cutoff, key, rows_without)
        without = [
            (source, pa.chunked_array(rows_without.get(number, []), pa.int64()))
            for number, source in enumerate(opened)
        ]
        visits = read_visits(
            database,
            of_visits,
            legend,
            cutoff,
            key,
            first=len(opened),
            settled=settled,
        )
        linked = link(database, legend.hospital, visits, decisions, key)
        beside_notes = compared(database) if notes is not None else ()
        judge(database, rules, mapped)
        found = cases(database, legend.hospital, rules, mapped)
        held: pa.Table | None = None
        if into is None:
            held = pa.Table.from_batches(found, schema=CASE_SCHEMA)
            n_cases = held.num_rows
        else:
            n_cases = _write(found, into)
        listed = list_broken(database, legend.hospital, rules)
        flow = count_flow(database, legend.hospital, rules, opened, without, linked.lines)
        doubted = doubts(database, legend, rules, flow, orders)
        open_questions = unsettled(database, legend.hospital, made, settled, visits.frames)
    flow.assert_balanced(n_cases)
    return Intake(
        hospital=legend.hospital,
        n_cases=n_cases,
        set_aside=pa.concat_tables(
            [list_rows_without_groin(legend.hospital, opened, without), listed, linked.listed]
        ),
        flow=flow.table,
        detected=(
            *(sentence for source in opened for sentence in source.detected),
            *(sentence for source in opened for sentence in told_of_notes(source, _notes(source, made))),
            *told,
            *(
                ()
                if any("patient" in frame.fields for frame in made)
                else (wording.detected_keys_of_dates(),)
            ),
            *visits.told,
            *linked.told,
            *doubted,
        ),
        fingerprints=tuple(
            dict.fromkeys((source.name, source.fingerprint) for source in (*opened, *of_visits))
        ),
        questions=pa.concat_tables([open_questions, linked.questions]),
        visits_from=tuple((source.name, source.sheet) for source in of_visits),
        written=into,
        compared=beside_notes,
        _held=held,
    )


def _notes(source: Source, made: Sequence[Frame]) -> list[str]:
    return list(
        dict.fromkeys(
            frame.columns["note"] for frame in made if frame.source is source and "note" in frame.columns
        )
    )


def _write(found: Iterable[pa.RecordBatch], into: Path) -> int:
    """Write cases as they come; return how many."""
    written = 0
    try:
        with pq.ParquetWriter(into, CASE_SCHEMA) as writer:
            for batch in found:
                writer.write_batch(batch)
                written += batch.num_rows
    except OSError as error:
        into.unlink(missing_ok=True)
        raise HingelineError(
            f"The cases cannot be written ({error.strerror or error})",
            str(into),
            "Check that the folder may be written and the disk is not full",
        ) from None
    return written


def _refuse_identifiers(source: Source, legend: Legend) -> None:
    """Stop at columns that identify people, all of them named at once."""
    dropped = {fold(column) for column in legend.drop.columns}
    # Of keys a hash is kept, of a birth an age, of a note what it says.
    kept_otherwise = {
        fold(how.column)
        for _, name, how in legend.mapped()
        if name in ("patient", "surgeon", "born_on", "note") and how.column is not None
    }
    reads: dict[str, list[Callable[[str], bool]]] = {}
    for _, name, how in legend.mapped():
        if how.column is not None and (reader := reader_of(name, how)) is not None:
            reads.setdefault(fold(how.column), []).append(reader)
    names = dict(zip(source.names, source.header, strict=True))
    found = suspects(
        source,
        allowed=[name for name, header in names.items() if fold(header) in kept_otherwise],
        dropped=[name for name, header in names.items() if fold(header) in dropped],
        mapped={name: reads[fold(header)] for name, header in names.items() if fold(header) in reads},
    )
    if found:
        one = found[0]
        listed = wording.listed([repr(suspect.column) for suspect in found])
        raise HingelineError(
            f"Column {one.column!r} seems to identify people: {one.why}"
            if len(found) == 1
            else f"Columns {listed} seem to identify people; {one.column!r}, for one: {one.why}",
            f"{source.where}, {'column' if len(found) == 1 else 'columns'} "
            + wording.listed([suspect.letter for suspect in found]),
            f"Remove from the file, or add to [drop] columns of {legend.path or 'the legend'}: {listed}",
        )
