"""An outline as PDF, set by Typst: the same sentences, pictures (as vectors) and tables as the page.

An `Outline` comes in, bytes go out. Words reach Typst as data (JSON), never as markup, so that no name in a
record can be read as code; the file's date is that of the data, so that the same outline gives the same
bytes.
"""

from __future__ import annotations

import datetime
import json
import math
import re
from pathlib import Path
from typing import Any, Final

import typst

from hingeline.pictures import fonts, theme
from hingeline.writing.outline import Block, Note, Outline, Picture, Sentence, Table

_TEMPLATE: Final = Path(__file__).with_name("report.typ")
_LINE_MM: Final = 170.0
_HIGHEST_MM: Final = 110.0
_MONTHS: Final = (
    *("january", "february", "march", "april", "may", "june"),
    *("july", "august", "september", "october", "november", "december"),
)


def render_pdf(outline: Outline) -> bytes:
    """Write an outline as a tagged PDF on A4, page numbers and caution at the foot of each page.

    Parameters
    ----------
    outline : Outline

    Returns
    -------
    bytes
    """
    colours = {name: theme.colour(name) for name in ("ink", "soft", "rule", "wash")}
    made = typst.compile(
        _TEMPLATE,
        font_paths=[fonts.FOLDER],
        ignore_system_fonts=True,
        format="pdf",
        sys_inputs={"report": json.dumps(_plain(outline), ensure_ascii=False), **colours},
        timestamp=dated(outline.dated),
        pdf_standards="ua-1",
    )
    return bytes(made)


def dated(words: str) -> datetime.datetime:
    """Return the first date in words, as ``30 June 2025`` or ``2025-06-30``; 1 January 2000 when there is none."""
    iso = re.search(r"\b(\d{4})-(\d{2})-(\d{2})\b", words)
    said = re.search(r"\b(\d{1,2}) ([A-Za-z]+) (\d{4})\b", words)
    try:
        if iso:
            year, month, day = (int(part) for part in iso.groups())
            return datetime.datetime(year, month, day, tzinfo=datetime.UTC)
        if said:
            month = _MONTHS.index(said[2].lower()) + 1
            return datetime.datetime(int(said[3]), month, int(said[1]), tzinfo=datetime.UTC)
    except ValueError:
        pass
    return datetime.datetime(2000, 1, 1, tzinfo=datetime.UTC)


def _plain(outline: Outline) -> dict[str, Any]:
    return {
        "title": outline.title,
        "question": outline.question,
        "dated": outline.dated,
        "caution": outline.caution,
        "marks": [list(mark) for mark in outline.marks],
        "sections": [
            {"heading": section.heading, "blocks": [_block(b) for b in section.blocks if not _is_caution(b)]}
            for section in outline.sections
        ],
    }


def _shares(table: Table) -> list[float]:
    """Return how wide each column is beside the others: room for its longest word, more for long cells."""
    columns = zip(table.heads, *table.rows, strict=True)
    return [
        max(
            1.1 * max((len(word) for cell in column for word in cell.split()), default=1),
            math.sqrt(8 * max(len(cell) for cell in column)),
        )
        for column in columns
    ]


def _is_caution(block: Block) -> bool:
    """The caution stands at the foot of every page of a PDF, so not again under each part."""
    return isinstance(block, Note) and block.kind == "caution"


def _width(drawing: str) -> float:
    """Return a picture's width in per cent of the line: all of it, or less so that two stand on a page."""
    size = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', drawing)
    if size is None:
        return 100.0
    return min(100.0, 100 * _HIGHEST_MM / (_LINE_MM * float(size[2]) / float(size[1])))


def _block(block: Block) -> dict[str, Any]:
    match block:
        case Sentence():
            return {"is": "sentence", "text": block.text, "lead": block.lead}
        case Picture():
            named = {"number": block.number, "title": block.title, "note": block.caption}
            shape = {"width": _width(block.svg), "svg": block.svg, "alt": block.alt}
            return {"is": "picture", **shape, **named}
        case Table():
            named = {"number": block.number, "title": block.title, "note": block.note}
            body = {"heads": block.heads, "rows": block.rows, "numeric": block.numeric}
            return {"is": "table", "shares": _shares(block), **body, **named}
        case Note():
            return {"is": "note", "kind": block.kind, "title": block.title, "items": block.items}
