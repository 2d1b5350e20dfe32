"""The steps of a run, each made again only when something it was made from has changed.

A step's result lies in the cache under the fingerprint of its inputs and of the code that makes it: a changed
export re-reads one hospital, a changed legend likewise, a changed title nothing but the report.
"""

from __future__ import annotations

import hashlib
import json
import os
import stat
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING, Any, Final

import pyarrow as pa
import pyarrow.parquet as pq

from ..errors import HingelineError
from ..protocol import Hospital, Protocol
from ..protocol.study import is_table
from .folder import Folder, discard, only_owner, sync, write_whole
from .progress import Progress

if TYPE_CHECKING:
    from ..records.decisions import Decisions

PACKAGE = Path(__file__).resolve().parent.parent
CASES, ASIDE, FLOW, ASKED, TOLD = (
    ".cases.parquet",
    ".aside.parquet",
    ".flow.parquet",
    ".asked.parquet",
    ".json",
)
"""Endings of the files of one hospital's read; the last is written last and says that all are whole."""


def fingerprint(*parts: Any) -> str:
    """Return the SHA-256 of values that JSON can hold."""
    return hashlib.sha256(json.dumps(parts, sort_keys=True, default=str).encode()).hexdigest()


def study_file(folder: Folder, name: str) -> Path:
    """Return the path of a file that the protocol names; refuse one that a link leads out of the study."""
    path = folder.root / name
    try:
        inside = path.resolve().is_relative_to(folder.root.resolve())
    except (OSError, RuntimeError):  # links that lead in a circle
        inside = False
    if not inside:
        raise HingelineError(
            "A file that the protocol names lies outside the study folder, a link leads there",
            str(path),
            "Put a copy of the file itself into the study folder.",
        )
    return path


def file_fingerprint(path: Path) -> str:
    """Return the SHA-256 of a file's bytes; what is no file (a pipe, a device, a folder) is never read."""
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise _no_file(path)
        # another may stand there by now, and opening a pipe must not wait for a writer
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        with os.fdopen(handle, "rb") as file:
            if not stat.S_ISREG(os.fstat(handle).st_mode):
                raise _no_file(path)
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


def _no_file(path: Path) -> HingelineError:
    return HingelineError(
        "The protocol names something that is not a file",
        str(path),
        "Put the file itself there, or correct its name in study.toml.",
    )


def source_of(folder: Folder, name: str) -> Path | str:
    """Return a source as intake takes it: the path of a file of the study, or the address of a table."""
    return name if is_table(name) else study_file(folder, name)


def source_fingerprint(source: Path | str) -> str:
    """Return the fingerprint of a file's bytes, or of what a table holds now."""
    if isinstance(source, Path):
        return file_fingerprint(source)
    from ..records.source import open_source

    opened = open_source(source)
    try:
        return opened.fingerprint
    finally:
        opened.close()


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
    set_aside, flow, questions : pyarrow.Table
    detected : tuple of str
        What was detected in the files, as sentences.
    visits_from : tuple of (str, str)
        File and sheet of each source of visits.
    made_from : str
    fresh : bool
        Whether it was read now rather than found in the cache.
    compared : tuple of (str, str, int)
        Type typed, type read from the note, groins.
    """

    hospital: str
    cases: Path
    set_aside: pa.Table
    flow: pa.Table
    questions: pa.Table
    detected: tuple[str, ...]
    visits_from: tuple[tuple[str, str], ...]
    made_from: str
    fresh: bool
    compared: tuple[tuple[str, str, int], ...] = ()


def read_one(
    folder: Folder, protocol: Protocol, hospital: Hospital, key: bytes, decisions: Decisions
) -> HospitalRead:
    """Read one hospital's exports through its legend, or find that done."""
    sources = [source_of(folder, name) for name in hospital.sources]
    legend_path = study_file(folder, hospital.legend)
    made_from = fingerprint(
        [source_fingerprint(source) for source in sources],
        file_fingerprint(legend_path),
        hospital.name,
        protocol.study.cutoff,
        decisions.fingerprint(hospital.name),
        hashlib.sha256(key).hexdigest(),
        code_fingerprint("records"),
    )
    entry = folder.cache / f"read-{made_from[:24]}"
    found = _read_found(entry, hospital, made_from)
    if found is not None:
        return found
    _load_ahead()
    from ..records.intake import read_hospital
    from ..records.legend import read_legend

    legend = read_legend(legend_path)
    if legend.hospital != hospital.name:
        raise HingelineError(
            f"The legend is for {legend.hospital!r}, the protocol uses it for {hospital.name!r}",
            str(legend_path),
            "Correct 'hospital' in the legend, or name the right legend in study.toml.",
        )
    cases = entry.with_suffix(CASES)
    partial = cases.with_name(cases.name + ".partial")
    # cases go to the disk as they come, so that they need not be held
    intake = read_hospital(
        sources,
        legend,
        cutoff=protocol.study.cutoff,
        key=key,
        decisions=decisions,
        into=partial,
        spill_in=folder.hidden,
    )
    _into_place(partial, cases)
    for ending, table in ((ASIDE, intake.set_aside), (FLOW, intake.flow), (ASKED, intake.questions)):
        write_parquet(entry.with_suffix(ending), table)
    told = {
        "detected": list(intake.detected),
        "visits_from": intake.visits_from,
        "compared": intake.compared,
        "sha256": {
            ending: file_fingerprint(entry.with_suffix(ending)) for ending in (CASES, ASIDE, FLOW, ASKED)
        },
    }
    write_whole(entry.with_suffix(TOLD), json.dumps(told, ensure_ascii=False), private=True)
    return HospitalRead(
        hospital=hospital.name,
        cases=cases,
        set_aside=intake.set_aside,
        flow=intake.flow,
        questions=intake.questions,
        detected=tuple(intake.detected),
        visits_from=intake.visits_from,
        made_from=made_from,
        fresh=True,
        compared=intake.compared,
    )


@cache
def _load_ahead() -> None:
    """Load what a fresh run needs after the reading, in moments when the reading waits."""
    Thread(target=_load, name="load ahead", daemon=True).start()


def _load() -> None:
    # whatever fails here fails again, and is told, where it is needed
    with suppress(Exception):
        from ..answers import answer
        from ..writing import write_report

        del answer, write_report


def _read_found(entry: Path, hospital: Hospital, made_from: str) -> HospitalRead | None:
    """Return a hospital's read from the cache; one that is damaged is removed, to be made again."""
    if not entry.with_suffix(TOLD).exists():
        return None
    try:
        told = json.loads(entry.with_suffix(TOLD).read_text(encoding="utf-8"))
        for ending in (CASES, ASIDE, FLOW, ASKED):
            if file_fingerprint(entry.with_suffix(ending)) != told["sha256"][ending]:
                raise ValueError(ending)
        return HospitalRead(
            hospital=hospital.name,
            cases=entry.with_suffix(CASES),
            set_aside=pq.read_table(entry.with_suffix(ASIDE)),
            flow=pq.read_table(entry.with_suffix(FLOW)),
            questions=pq.read_table(entry.with_suffix(ASKED)),
            detected=tuple(told["detected"]),
            visits_from=tuple((str(file), str(sheet)) for file, sheet in told["visits_from"]),
            made_from=made_from,
            fresh=False,
            compared=tuple((str(typed), str(read), int(n)) for typed, read, n in told["compared"]),
        )
    except (OSError, ValueError, KeyError, TypeError, pa.ArrowException, HingelineError):
        for ending in (TOLD, CASES, ASIDE, FLOW, ASKED):
            discard(entry.with_suffix(ending))
        return None


def read_all(folder: Folder, protocol: Protocol, progress: Progress) -> tuple[HospitalRead, ...]:
    """Read every hospital of the protocol, in its order."""
    from ..records.decisions import read_decisions

    key = folder.key()
    decisions = read_decisions(study_file(folder, folder.decisions.name))
    hospitals = protocol.hospitals
    reads = []
    with ThreadPoolExecutor(_side_by_side(folder, protocol)) as pool:
        begun = {
            place: pool.submit(read_one, folder, protocol, hospitals[place], key, decisions)
            for place in _longest_first(folder, hospitals)
        }
        waiting = [begun[place] for place in range(len(hospitals))]
        try:
            for index, (hospital, read) in enumerate(zip(hospitals, waiting, strict=True)):
                progress(f"reading {hospital.name}", index, len(hospitals))
                reads.append(read.result())
        finally:
            for read in waiting:
                read.cancel()
    progress("reading", len(hospitals), len(hospitals))
    return tuple(reads)


def _longest_first(folder: Folder, hospitals: Sequence[Hospital]) -> list[int]:
    """Places of hospitals in the order to begin with them: notes take long, and no core should wait for the last."""

    def work(place: int) -> tuple[bool, int]:
        one = hospitals[place]
        legend = folder.root / one.legend
        notes = legend.is_file() and b"note" in legend.read_bytes()
        files = [folder.root / name for name in one.sources if not is_table(name)]
        # a spreadsheet is packed: its cells are many times its bytes
        packed = {".xlsx": 8, ".xlsm": 8, ".parquet": 8}
        size = sum(
            packed.get(file.suffix.lower(), 1) * file.stat().st_size for file in files if file.is_file()
        )
        return notes, size

    return sorted(range(len(hospitals)), key=work, reverse=True)


SMALL: Final = 64 << 20
"""Bytes of a study's exports up to which two hospitals are read side by side; larger ones each want the memory."""


def _side_by_side(folder: Folder, protocol: Protocol) -> int:
    names = [name for hospital in protocol.hospitals for name in hospital.sources]
    if any(map(is_table, names)):
        return 1
    sizes = [path.stat().st_size for name in names if (path := folder.root / name).is_file()]
    return min(2, os.cpu_count() or 1) if sum(sizes) <= SMALL else 1


def write_set_aside_of_all(folder: Folder, reads: Sequence[HospitalRead]) -> Path:
    """Write ``by-hand/set-aside.csv``: each row that was set aside, and what to do."""
    from ..records.intake import write_set_aside

    write_set_aside(pa.concat_tables([read.set_aside for read in reads]), folder.set_aside)
    only_owner(folder.set_aside)
    return folder.set_aside


def write_questions_of_all(folder: Folder, reads: Sequence[HospitalRead]) -> Path:
    """Write ``by-hand/questions.csv``: what a person should settle, with an empty column for the answers."""
    from ..records.questions import write_questions

    write_questions([read.questions for read in reads], folder.questions)
    only_owner(folder.questions)
    return folder.questions


def write_parquet(path: Path, table: pa.Table) -> None:
    """Write a private Parquet file whole or not at all."""
    partial = path.with_name(path.name + ".partial")
    pq.write_table(table, partial, compression="zstd")
    _into_place(partial, path)


def _into_place(partial: Path, path: Path) -> None:
    """Give a file that is whole its name; only its owner may read it."""
    only_owner(partial)
    sync(partial)
    partial.replace(path)
    sync(path.parent)
