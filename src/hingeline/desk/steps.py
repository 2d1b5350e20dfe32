"""The steps of a run, each made again only when something it was made from has changed.

A step's result lies in the cache under the fingerprint of its inputs and of the code that makes it: a changed
export re-reads one hospital, a changed legend likewise, a changed title nothing but the report.
"""

from __future__ import annotations

import hashlib
import json
import shutil
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pyarrow as pa
import pyarrow.parquet as pq

from ..errors import HingelineError
from ..protocol import Hospital, Protocol
from .folder import Folder, write_whole
from .progress import Progress

if TYPE_CHECKING:
    from ..counts import PatternTally

PACKAGE = Path(__file__).resolve().parent.parent


def fingerprint(*parts: Any) -> str:
    """Return the SHA-256 of values that JSON can hold."""
    return hashlib.sha256(json.dumps(parts, sort_keys=True, default=str).encode()).hexdigest()


def file_fingerprint(path: Path) -> str:
    """Return the SHA-256 of a file's bytes."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except FileNotFoundError:
        raise HingelineError(
            "A file that the protocol names is not there",
            str(path),
            "Put it there, or correct its name in study.toml.",
        ) from None
    except OSError as error:
        raise HingelineError(
            f"A file of the study cannot be read: {error.strerror}",
            str(path),
            "Check that it is a file you may read.",
        ) from None


@cache
def code_fingerprint(*rooms: str) -> str:
    """Return the fingerprint of the code in some rooms of the package, or of all of it."""
    files = sorted(
        path
        for path in PACKAGE.rglob("*.py")
        if not rooms or path.relative_to(PACKAGE).parts[0] in rooms or path.parent == PACKAGE
    )
    return fingerprint([(str(p.relative_to(PACKAGE)), file_fingerprint(p)) for p in files])


@dataclass(frozen=True)
class HospitalRead:
    """What intake made of one hospital's exports.

    Attributes
    ----------
    hospital : str
    cases : Path
        Parquet of `hingeline.vocabulary.CASE_SCHEMA`, named by what it was made from.
    set_aside, flow : pyarrow.Table
    detected : tuple of str
        What was detected in the files, as sentences.
    made_from : str
    fresh : bool
        Whether it was read now rather than found in the cache.
    """

    hospital: str
    cases: Path
    set_aside: pa.Table
    flow: pa.Table
    detected: tuple[str, ...]
    made_from: str
    fresh: bool


def read_one(folder: Folder, protocol: Protocol, hospital: Hospital, key: bytes) -> HospitalRead:
    """Read one hospital's exports through its legend, or find that done."""
    sources = [folder.root / name for name in hospital.sources]
    legend_path = folder.root / hospital.legend
    made_from = fingerprint(
        [file_fingerprint(path) for path in sources],
        file_fingerprint(legend_path),
        hospital.name,
        protocol.study.cutoff,
        hashlib.sha256(key).hexdigest(),
        code_fingerprint("records"),
    )
    stem = folder.cache / f"read-{made_from[:24]}"
    cases, aside, flow, told = (
        stem.with_suffix(ending) for ending in (".cases.parquet", ".aside.parquet", ".flow.parquet", ".json")
    )
    fresh = not told.exists()
    if fresh:
        from ..records.intake import read_hospital
        from ..records.legend import read_legend

        legend = read_legend(legend_path)
        if legend.hospital != hospital.name:
            raise HingelineError(
                f"The legend is for {legend.hospital!r}, the protocol uses it for {hospital.name!r}",
                str(legend_path),
                "Correct 'hospital' in the legend, or name the right legend in study.toml.",
            )
        intake = read_hospital(sources, legend, cutoff=protocol.study.cutoff, key=key)
        for path, table in ((cases, intake.cases), (aside, intake.set_aside), (flow, intake.flow)):
            write_parquet(path, table)
        write_whole(told, json.dumps({"detected": list(intake.detected)}, ensure_ascii=False))
    return HospitalRead(
        hospital=hospital.name,
        cases=cases,
        set_aside=pq.read_table(aside),
        flow=pq.read_table(flow),
        detected=tuple(json.loads(told.read_text(encoding="utf-8"))["detected"]),
        made_from=made_from,
        fresh=fresh,
    )


def read_all(folder: Folder, protocol: Protocol, progress: Progress) -> tuple[HospitalRead, ...]:
    """Read every hospital of the protocol, in its order."""
    key = folder.key()
    reads = []
    for index, hospital in enumerate(protocol.hospitals):
        progress(f"reading {hospital.name}", index, len(protocol.hospitals))
        reads.append(read_one(folder, protocol, hospital, key))
    progress("reading", len(protocol.hospitals), len(protocol.hospitals))
    return tuple(reads)


def write_set_aside_of_all(folder: Folder, reads: Sequence[HospitalRead]) -> Path:
    """Write ``.hingeline/set-aside.csv``: each row that was set aside, and what to do."""
    from ..records.intake import write_set_aside

    write_set_aside(pa.concat_tables([read.set_aside for read in reads]), folder.set_aside)
    return folder.set_aside


def tally_of(
    folder: Folder,
    protocol: Protocol,
    reads: Sequence[HospitalRead],
    by: Sequence[str] | None = None,
) -> PatternTally:
    """Count patient patterns over all hospitals by some dimensions (the usual ones), or find that done."""
    from ..counts import DEFAULT_DIMENSIONS, PatternTally, count_patterns

    by = DEFAULT_DIMENSIONS if by is None else by
    ages = protocol.ages
    made_from = fingerprint(
        [read.made_from for read in reads], by, ages.half_years_to, ages.highest, code_fingerprint("counts")
    )
    place = folder.cache / f"tally-{made_from[:24]}"
    if not place.exists():
        tally = count_patterns(
            [read.cases for read in reads],
            by=by,
            half_years_to=ages.half_years_to,
            highest=ages.highest,
        )
        partial = place.with_name(place.name + ".partial")
        shutil.rmtree(partial, ignore_errors=True)
        tally.save(partial)
        partial.replace(place)
    return PatternTally.load(place)


def write_parquet(path: Path, table: pa.Table) -> None:
    """Write a Parquet file whole or not at all."""
    partial = path.with_name(path.name + ".partial")
    pq.write_table(table, partial, compression="zstd")
    partial.replace(path)
