"""The flow of records: what was read, what was set aside and why, what each analysis rests on.

The frame of the kind ``flow`` comes in: boxes on a grid of rows and columns, each hanging from another. A
diagram of boxes and arrows goes out, laid out in pixels from the widths of its words, so that no text
leaves its box.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

from hingeline.answers.findings import Figure
from hingeline.pictures import fonts
from hingeline.pictures.frames import Row, rows
from hingeline.pictures.pieces import Spec, values, whole, words
from hingeline.pictures.theme import Sheet, colour

PAD = 12.0


@dataclass(frozen=True)
class Box:
    """One box in pixels: its place, and its lines of text (the number last, in semibold)."""

    row: Row
    left: float
    top: float
    wide: float
    high: float
    lines: tuple[str, ...]

    @property
    def middle(self) -> float:
        """Return the height of its middle."""
        return self.top + self.high / 2

    @property
    def centre(self) -> float:
        """Return the distance of its middle from the left."""
        return self.left + self.wide / 2


def draw_flow(figure: Figure, sheet: Sheet) -> Spec:
    """Return the diagram of boxes and arrows."""
    boxes = place(rows(figure, "boxes"), sheet)
    by_id = {box.row["id"]: box for box in boxes}
    tall = max((box.top + box.high for box in boxes), default=0) + 2
    layers: list[Spec] = []
    for box in boxes:
        parent = by_id.get(box.row["of"])
        if parent is not None:
            layers += _arrow(parent, box)
    for box in boxes:
        layers += _drawn(box, sheet)
    return whole(
        figure.title, figure.alt, sheet, [{"width": sheet.width - 14, "height": tall, "layer": layers}]
    )


def place(shown: Sequence[Row], sheet: Sheet) -> list[Box]:
    """Give every box a place: columns share the width, a row is as high as its highest box, boxes never meet."""
    if not shown:
        return []
    columns = max(int(r["column"]) for r in shown) + 1
    between = min(46.0, 0.3 * sheet.width / columns)
    wide = (sheet.width - 14 - between * (columns - 1)) / columns
    texts = [_lines(r, wide - 2 * PAD, sheet) for r in shown]
    step = sheet.text + 4
    highs = [len(lines) * step + 2 * PAD - 4 for lines in texts]
    tops: dict[int, float] = {}
    top = 1.0
    for number in sorted({int(r["row"]) for r in shown}):
        tops[number] = top
        top += max(h for h, r in zip(highs, shown, strict=True) if int(r["row"]) == number) + 30
    tallest = {
        number: max(h for h, r in zip(highs, shown, strict=True) if int(r["row"]) == number)
        for number in tops
    }
    return [
        Box(
            r,
            int(r["column"]) * (wide + between) + 1,
            tops[int(r["row"])] + (tallest[int(r["row"])] - high) / 2,
            wide,
            high,
            tuple(lines),
        )
        for r, lines, high in zip(shown, texts, highs, strict=True)
    ]


def _lines(row: Row, room: float, sheet: Sheet) -> list[str]:
    return [
        *fonts.wrap(str(row["label"]), room, sheet.text),
        fonts.shorten(str(row["n"]), room, sheet.text, "semibold"),
    ]


def _drawn(box: Box, sheet: Sheet) -> list[Spec]:
    side = bool(box.row["side"])
    mark: Spec = {
        "type": "rect",
        "fill": colour("paper" if side else "wash"),
        "stroke": colour("edge" if side else "ink"),
        "strokeWidth": 1 if side else 1.4,
        "cornerRadius": 3,
    }
    if side:
        mark["strokeDash"] = [5, 3]
    where = {
        "x": {"value": box.left},
        "x2": {"value": box.left + box.wide},
        "y": {"value": box.top},
        "y2": {"value": box.top + box.high},
    }
    step = sheet.text + 4
    first = box.top + PAD - 2 + step / 2
    text = [{"x": box.left + PAD, "y": first + step * i, "text": one} for i, one in enumerate(box.lines)]
    return [
        {"data": values([{}]), "mark": mark, "encoding": where},
        *words(text[:-1], halo=False, fontSize=sheet.text),
        *words(text[-1:], halo=False, fontSize=sheet.text, fontWeight=600),
    ]


def _arrow(parent: Box, child: Box) -> list[Spec]:
    """Return the way from a box to one that hangs from it: sideways in its own row, else down and across."""
    if child.row["row"] == parent.row["row"]:
        right = child.left > parent.left
        start = (parent.left + parent.wide if right else parent.left, parent.middle)
        end = (child.left if right else child.left + child.wide, parent.middle)
        return [*_strokes([start, end]), _head(end, 90 if right else -90)]
    foot = parent.top + parent.high
    end = (child.centre, child.top)
    bend = child.top - 15
    way = [(parent.centre, foot), (parent.centre, bend), (child.centre, bend), end]
    return [*_strokes(way), _head(end, 180)]


def _strokes(way: list[tuple[float, float]]) -> list[Spec]:
    mark = {"type": "rule", "stroke": colour("soft"), "strokeWidth": 1.4}
    return [
        {
            "data": values([{}]),
            "mark": mark,
            "encoding": {
                "x": {"value": a[0]},
                "y": {"value": a[1]},
                "x2": {"value": b[0]},
                "y2": {"value": b[1]},
            },
        }
        for a, b in itertools.pairwise(way)
        if a != b
    ]


def _head(at: tuple[float, float], angle: float) -> Spec:
    mark = {
        "type": "point",
        "shape": "triangle-up",
        "size": 70,
        "fill": colour("soft"),
        "angle": angle,
    }
    along = {90: (-5, 0), -90: (5, 0), 180: (0, -5)}[int(angle)]
    where = {"x": {"value": at[0] + along[0]}, "y": {"value": at[1] + along[1]}}
    return {"data": values([{}]), "mark": mark, "encoding": where}
