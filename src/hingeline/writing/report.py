"""Everything a run writes for people: each picture as a file, the page, the PDF.

An `Answer` and a folder come in; files in ``pictures/`` and ``writing/`` go out, and where each one is.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Literal

from hingeline import pictures
from hingeline.answers.findings import Answer
from hingeline.errors import HingelineError
from hingeline.writing.beside import Drawer
from hingeline.writing.html import render_html
from hingeline.writing.outline import Outline, outline
from hingeline.writing.pdf import render_pdf

Format = Literal["html", "pdf"]
Progress = Callable[[str, int, int], None]


def write_report(
    answer: Answer,
    folder: Path,
    formats: Sequence[Format] = ("html", "pdf"),
    progress: Progress | None = None,
    drawer: Drawer | None = None,
) -> dict[str, Path]:
    """Write an answer's pictures and its report.

    Parameters
    ----------
    answer : Answer
    folder : Path
        Of the run; ``pictures/`` and ``writing/`` are made in it.
    formats : sequence of {"html", "pdf"}
    progress : callable, optional
        ``progress(what, done, of)``.
    drawer : Drawer, optional
        One that was started beforehand; it stays open.

    Returns
    -------
    dict of str to Path
        ``html`` and ``pdf`` as asked, and for each picture its name with ``.svg``, ``.png`` and ``.vl.json``.

    Raises
    ------
    HingelineError
        When a figure cannot be drawn, a format is not known or the folder cannot be written.
    """
    unknown = [fmt for fmt in formats if fmt not in ("html", "pdf")]
    if unknown:
        raise HingelineError(f"a report cannot be written as '{unknown[0]}'", "formats", "use html or pdf")
    tell = progress or (lambda what, done, of: None)
    tell("drawing pictures", 0, 1)
    whole = outline(answer)
    steps = len(whole.pictures) + len(formats)
    try:
        written = _pictures(whole, folder / "pictures", tell, steps, drawer or Drawer())
        for i, fmt in enumerate(formats):
            tell(f"writing the report as {fmt.upper()}", len(whole.pictures) + i, steps)
            made = render_html(whole).encode() if fmt == "html" else render_pdf(whole)
            written[fmt] = _write(folder / "writing" / f"report.{fmt}", made)
    except OSError as error:
        raise HingelineError(
            f"the report cannot be written ({error.strerror or error})",
            str(error.filename or folder),
            "free some space or choose a folder that you may write to",
        ) from error
    tell("report written", steps, steps)
    return written


def _pictures(whole: Outline, folder: Path, tell: Progress, steps: int, drawer: Drawer) -> dict[str, Path]:
    written: dict[str, Path] = {}
    drawings = drawer.draw(picture.spec for picture in whole.pictures)
    for i, picture in enumerate(whole.pictures):
        tell(f"drawing {picture.title}", i, steps)
        picture.drawn(next(drawings))
        files = {
            ".svg": pictures.convert(picture.svg, "svg"),
            ".png": pictures.convert(picture.svg, "png", scale=2),
            ".vl.json": (json.dumps(picture.spec, ensure_ascii=False, indent=1) + "\n").encode(),
        }
        for ending, body in files.items():
            written[picture.name + ending] = _write(folder / (picture.name + ending), body)
    return written


def _write(path: Path, body: bytes) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(body)
    return path
