"""Frames to Vega-Lite pictures, by kind, in one theme.

`draw` takes a `Figure` and returns a specification with its data inside; `export` makes SVG, PNG or PDF of
it.
"""

from hingeline.pictures.export import Format, convert, export, has_drawn, svg
from hingeline.pictures.kinds import draw
from hingeline.pictures.theme import NARROW, WIDE, Sheet

__all__ = ["NARROW", "WIDE", "Format", "Sheet", "convert", "draw", "export", "has_drawn", "svg"]
