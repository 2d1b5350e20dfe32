"""Typing sheets of a study: a sample of its cases, their operation notes fetched from the exports, one sheet a reader.

The notes are read again from the sources, since cases hold none; sheets go into ``by-hand/``, which is private.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pyarrow as pa

from ..errors import HingelineError
from ..protocol import Protocol
from .folder import Folder, only_owner
from .steps import HospitalRead, source_of, study_file

READERS = 2


def write_sheets(
    folder: Folder, protocol: Protocol, reads: Sequence[HospitalRead], size: int
) -> tuple[Path, ...]:
    """Draw a sample and write the readers' sheets; sheets that are there are refused, since they may hold work."""
    from ..records.sampling import draw_sample, write_typing_sheet

    paths = tuple(folder.typing_sheet(reader) for reader in range(1, READERS + 1))
    there = [path for path in paths if path.exists()]
    if there:
        raise HingelineError(
            "A typing sheet is there already, and may hold somebody's work",
            str(there[0]),
            "Move both sheets to a safe place, then draw again",
        )
    seed = protocol.study.seed
    sample = draw_sample([read.cases for read in reads], size, seed=seed)
    notes = _notes(folder, protocol, sample)
    for reader, path in enumerate(paths, start=1):
        write_typing_sheet(path, sample, reader=reader, seed=seed, notes=notes)
        only_owner(path)
    return paths


def _notes(folder: Folder, protocol: Protocol, sample: pa.Table) -> dict[tuple[str, str, int], str]:
    """Notes of the sampled rows, where a legend maps them."""
    from ..records.legend import read_legend
    from ..records.sampling import notes_of

    wanted = set(
        zip(
            *(sample.column(name).to_pylist() for name in ("hospital", "source_file", "source_row")),
            strict=True,
        )
    )
    found: dict[tuple[str, str, int], str] = {}
    for hospital in protocol.hospitals:
        if not any(name == hospital.name for name, _, _ in wanted):
            continue
        legend = read_legend(study_file(folder, hospital.legend))
        sources = [source_of(folder, name) for name in hospital.sources]
        found |= notes_of(sources, legend, wanted)
    return found
