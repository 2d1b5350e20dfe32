"""From a specification to a file's bytes: SVG, PNG or PDF, drawn by vl-convert without browser or network.

The same specification is live in the page. The fonts are registered once; the converter starts once (about
half a second) and is kept. PNG and PDF are made from the SVG, so that the three can never differ.
"""

from __future__ import annotations

import json
import re
from functools import cache
from typing import Literal
from xml.sax.saxutils import escape, quoteattr

import vl_convert

from hingeline.errors import HingelineError
from hingeline.pictures import fonts
from hingeline.pictures.pieces import Spec
from hingeline.pictures.theme import VEGA_LITE

Format = Literal["svg", "png", "pdf"]
_UNSEEN = re.compile(r'<path [^>]*fill-opacity="0"[^>]*/>')
_PLACES = re.compile(r' (?:d|transform)="[^"]*"')
_DIGITS = re.compile(r"(\d\.\d\d)\d+")
FORMATS: tuple[Format, ...] = ("svg", "png", "pdf")


def export(spec: Spec, fmt: Format, scale: float = 2) -> bytes:
    """Draw a specification.

    Parameters
    ----------
    spec : dict
        From `hingeline.pictures.draw`.
    fmt : {"svg", "png", "pdf"}
    scale : float
        Pixels of the PNG for each of the picture; the others have no pixels.

    Raises
    ------
    HingelineError
        When there is no such format.
    """
    if fmt not in FORMATS:
        raise HingelineError(f"a picture cannot be written as '{fmt}'", "format", "use svg, png or pdf")
    return convert(svg(spec), fmt, scale)


def convert(drawing: str, fmt: Format, scale: float = 2) -> bytes:
    """Turn SVG that `svg` drew into a file's bytes, so that it is drawn only once for several formats."""
    _register()
    if fmt == "svg":
        return drawing.encode()
    made = vl_convert.svg_to_png(drawing, scale=scale) if fmt == "png" else vl_convert.svg_to_pdf(drawing)
    return bytes(made)


def svg(spec: Spec) -> str:
    """Draw a specification as SVG; data from anywhere but the specification is refused."""
    _register()
    _start()
    text = json.dumps(spec, ensure_ascii=False, allow_nan=False)
    drawing = str(vl_convert.vegalite_to_svg(text, vl_version=VEGA_LITE, allowed_base_urls=[]))
    return _described(_trimmed(drawing), str(spec.get("description", "")))


def _trimmed(drawing: str) -> str:
    """Leave out what nobody sees (boxes that only carry tooltips) and digits beyond a hundredth of a pixel."""
    drawing = _UNSEEN.sub("", drawing)
    return _PLACES.sub(lambda found: _DIGITS.sub(r"\1", found[0]), drawing)


def _described(drawing: str, alt: str) -> str:
    """Give the drawing its alt text: a label for screen readers, and a description that stays with the file."""
    head, rest = drawing.split(">", 1)
    return f'{head} role="img" aria-label={quoteattr(alt)}><desc>{escape(alt)}</desc>{rest}'


def has_drawn() -> bool:
    """Tell whether the converter was started in this process."""
    return _start.cache_info().currsize > 0


@cache
def _start() -> None:
    """Remember that the converter is started, which it is by the first drawing."""


@cache
def _register() -> None:
    vl_convert.register_font_directory(str(fonts.FOLDER))
