"""Filled typing sheets of a study: the sheets that the protocol names come in, readings beside the record go out.

Sheets are read once for all that a run asks of them; what of them could not be used is listed in ``by-hand/``.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Final

import pyarrow as pa
import pyarrow.parquet as pq

from .. import vocabulary
from ..protocol import Protocol
from .folder import Folder, only_owner
from .steps import HospitalRead, file_fingerprint, study_file

if TYPE_CHECKING:
    from ..answers.readings import Readings

LEFT_FILE: Final = "typing-left.csv"
_PLACE: Final = ("hospital", "source_file", "source_row", "side")
_RECORD: Final = ("type", "known_by", "approach")


def sheets_fingerprint(folder: Folder, protocol: Protocol) -> list[str]:
    """Return the fingerprints of the sheets that the protocol names."""
    return [file_fingerprint(study_file(folder, name)) for name in protocol.agreement.sheets]


def readings_of(folder: Folder, protocol: Protocol, reads: Sequence[HospitalRead]) -> Readings | None:
    """Read the sheets of ``[agreement]`` and find the recorded types of their groins.

    The sheets are opened once for the same bytes and records.

    Returns
    -------
    Readings or None
        None when the protocol names no sheet and no hospital sends notes beside a typed column.

    Raises
    ------
    HingelineError
        When a sheet is not there or is none, or the reference reader has none.
    """
    notes = tuple((read.hospital, read.compared) for read in reads if _is_typed(read))
    if not (protocol.agreement.sheets or notes):
        return None
    paths = tuple(study_file(folder, name) for name in protocol.agreement.sheets)
    told = _opened(
        paths,
        tuple(sheets_fingerprint(folder, protocol)),
        tuple((read.hospital, read.cases, read.made_from) for read in reads),
        protocol.agreement.reference.strip(),
        notes,
    )
    if paths:
        _list_left(folder.by_hand / LEFT_FILE, told[1])
    return told[0]


def _is_typed(read: HospitalRead) -> bool:
    return any(typed != vocabulary.UNKNOWN for typed, _, _ in read.compared)


@lru_cache(maxsize=1)
def _opened(
    paths: tuple[Path, ...],
    sheets: tuple[str, ...],
    reads: tuple[tuple[str, Path, str], ...],
    reference: str,
    notes: tuple[tuple[str, tuple[tuple[str, str, int], ...]], ...],
) -> tuple[Readings, pa.Table]:
    """Readings and the rows that could not be used; fingerprints stand for the bytes they were made from."""
    from ..answers.readings import Readings
    from ..records.sampling_filled import LEFT, READINGS, read_filled

    if not paths:
        return Readings(READINGS.empty_table(), notes=dict(notes)), LEFT.empty_table()
    filled = read_filled(paths)
    recorded = _recorded(filled.readings, [(hospital, cases) for hospital, cases, _ in reads])
    left = pa.concat_tables([filled.left, _no_cases(filled.readings, recorded, LEFT)])
    table = filled.readings.select(["groin", "reader", "type", "ehs_size"])
    return Readings(table, recorded, reference, left.num_rows, dict(notes)), left


def entering(folder: Folder, protocol: Protocol, reads: Sequence[HospitalRead]) -> Protocol:
    """Return the protocol with the errors of typing that its sheets tell, where they shall enter."""
    if not protocol.agreement.enters:
        return protocol
    from ..answers.readings import typing_entries

    return protocol.model_copy(
        update={"typing": typing_entries(readings_of(folder, protocol, reads), protocol)}
    )


def _recorded(readings: pa.Table, reads: Sequence[tuple[str, Path]]) -> dict[str, dict[str, str]]:
    """Find what the study's records say of the groins that were read."""
    wanted = {
        tuple(row[name] for name in _PLACE): row["groin"]
        for row in readings.to_pylist()
        if row["hospital"] is not None
    }
    found: dict[str, dict[str, str]] = {}
    for hospital, cases in reads:
        rows = sorted({place[2] for place in wanted if place[0] == hospital})
        if not rows:
            continue
        table = pq.read_table(cases, columns=[*_PLACE, *_RECORD], filters=[("source_row", "in", rows)])
        for case in table.to_pylist():
            groin = wanted.get(tuple(case[name] for name in _PLACE))
            if groin is not None:
                found[groin] = {name: str(case[name]) for name in _RECORD}
    return found


def _no_cases(readings: pa.Table, recorded: dict[str, dict[str, str]], schema: pa.Schema) -> pa.Table:
    """List readings of rows that are no case of the study; readers are compared on them all the same."""
    from .. import wording

    why, todo = wording.sheet_row_no_case()
    return pa.Table.from_pylist(
        [
            {
                "sheet": row["sheet"],
                "row": row["row"],
                "reader": row["reader"],
                "value": row["groin"],
                "why": why,
                "todo": todo,
            }
            for row in readings.to_pylist()
            if row["hospital"] is not None and row["groin"] not in recorded
        ],
        schema=schema,
    )


def _list_left(path: Path, left: pa.Table) -> None:
    """Write the rows that could not be used, or take an earlier list away."""
    from ..records.csv_files import write_rows

    if not left.num_rows:
        path.unlink(missing_ok=True)
        return
    path.parent.mkdir(exist_ok=True)
    columns = left.column_names
    write_rows(path, columns, ([row[name] for name in columns] for row in left.to_pylist()), "typing sheets")
    only_owner(path)
