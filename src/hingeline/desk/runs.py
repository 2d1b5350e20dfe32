"""Runs: each written once under ``results/runs``, and the one line that names the run that stands.

A run's folder is filled under another name and moved into place when whole; the pointer is swapped by
a rename. Killed at any instant, the last results stand.
"""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..errors import HingelineError
from .folder import Folder, write_whole

RUN_NAME = re.compile(r"\d{8}T\d{6}Z-[0-9a-f]{12}")
"""The form of a run's name: when it was made, and the beginning of what it was made from."""


@dataclass(frozen=True)
class Run:
    """One finished run.

    Attributes
    ----------
    id : str
    path : Path
    """

    id: str
    path: Path

    @property
    def meta(self) -> dict[str, Any]:
        """``run.json``: what the run was made from, with which version, when."""
        return dict(json.loads((self.path / "run.json").read_text(encoding="utf-8")))

    @property
    def findings(self) -> dict[str, Any]:
        """``findings.json`` as plain values."""
        return dict(json.loads((self.path / "findings.json").read_text(encoding="utf-8")))

    @property
    def sentences(self) -> tuple[str, ...]:
        """The answer in sentences."""
        return tuple(self.findings["sentences"])

    @property
    def cannot(self) -> tuple[str, ...]:
        """What the numbers cannot say."""
        return tuple(self.findings["cannot"])

    @property
    def report(self) -> Path:
        """The self-contained HTML report."""
        return self.path / "writing" / "report.html"

    @property
    def report_pdf(self) -> Path:
        """The same report as PDF."""
        return self.path / "writing" / "report.pdf"

    def __str__(self) -> str:
        return "\n".join(self.sentences)


def current_run(folder: Folder) -> Run | None:
    """Return the run that stands, or None before the first."""
    if not folder.current.exists():
        return None
    name = ""
    if folder.current.is_file():
        name = folder.current.read_bytes()[:100].decode("ascii", errors="replace").strip()
    # nothing but a run's own name may follow, or the pointer could lead out of the study
    if not RUN_NAME.fullmatch(name) or not (folder.runs / name / "run.json").is_file():
        raise HingelineError(
            f"The results name a run that is not there: {name!r}",
            str(folder.current),
            "Call 'hingeline run' to make the results again.",
        )
    path = folder.runs / name
    return Run(name, path)


def run_made_from(folder: Folder, fingerprint: str) -> Run | None:
    """Return a finished run made from the same inputs by the same program, if there is one."""
    if not folder.runs.is_dir():
        return None
    for path in sorted(folder.runs.iterdir(), reverse=True):
        if RUN_NAME.fullmatch(path.name) and path.name.endswith(fingerprint[:12]):
            run = Run(path.name, path)
            # a run whose account is damaged or gone does not stand; it is made again
            with suppress(OSError, ValueError):
                if run.meta.get("made_from") == fingerprint and run.findings:
                    return run
    return None


@contextmanager
def new_run(folder: Folder, id: str) -> Iterator[Path]:
    """Give a folder to fill; it becomes the run ``id`` when the block ends without an error."""
    partial = folder.hidden / f"partial-{id}"
    shutil.rmtree(partial, ignore_errors=True)
    partial.mkdir(parents=True)
    try:
        yield partial
        target = folder.runs / id
        if target.exists():  # the same inputs were run before and that run was damaged or removed in part
            shutil.rmtree(target)
        partial.replace(target)
    except BaseException:
        shutil.rmtree(partial, ignore_errors=True)
        raise


def stand(folder: Folder, run: Run) -> None:
    """Let a run be the one that stands."""
    write_whole(folder.current, run.id + "\n")
