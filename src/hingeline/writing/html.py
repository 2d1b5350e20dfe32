"""An outline as one HTML file that holds everything: fonts, pictures, the drawing library; it opens offline.

An `Outline` comes in, text goes out. Every picture is there as still SVG for readers without scripts and
for print, and turns live (tooltips) when it comes near the window. A strict Content-Security-Policy lets no
request leave, and runs only the two scripts whose fingerprints it names; all text is escaped.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
from functools import cache
from pathlib import Path
from typing import Any, Final

import jinja2
from markupsafe import Markup, escape

from hingeline.pictures import fonts, theme
from hingeline.writing.bundle import bundle
from hingeline.writing.outline import Outline, Picture

_HERE: Final = Path(__file__).parent
_INTERVAL: Final = re.compile(r"\(?\d[\d.,]*%?–[\d.,]*\d%?\)?")
_FEW: Final = 4
"""Rows that stay in a specification: moving so few would save nothing."""


def render_html(outline: Outline) -> str:
    """Write an outline as one self-contained page.

    Parameters
    ----------
    outline : Outline

    Returns
    -------
    str
        HTML that needs no other file and no network.
    """
    style, library, script = _style(), bundle(), _read("report.js")
    store: dict[str, Any] = {}
    live = {p.number: (_lean(p.spec, store), _lean(p.narrow, store)) for p in outline.pictures}
    return _template().render(
        outline=outline,
        policy=policy(style, library, script),
        style=Markup(style),
        bundle=Markup(library),
        script=Markup(script),
        still=still,
        live={number: tuple(Markup(_as_json(s)) for s in both) for number, both in live.items()},
        data=Markup(_as_json(store)),
        kind=lambda block: type(block).__name__,
    )


def policy(style: str, *scripts: str) -> str:
    """Return the Content-Security-Policy (W3C, level 3): only this style and these scripts, and no request at all."""
    allowed = " ".join(f"'{_fingerprint(script)}'" for script in scripts)
    return (
        f"default-src 'none'; script-src {allowed}; style-src '{_fingerprint(style)}'; "
        "img-src data:; font-src data:; base-uri 'none'; form-action 'none'"
    )


def whole(text: str) -> Markup:
    """Escape text and keep each interval (``16.9–18.4``) on one line."""
    return Markup(_INTERVAL.sub(r'<span class="whole">\g<0></span>', str(escape(text))))


def still(picture: Picture) -> Markup:
    """Return a picture as SVG whose colours follow the page, with names that no other picture on it has."""
    drawing = re.sub(r'(id="|url\(#|href="#)(?=[A-Za-z])', rf"\g<1>p{picture.number}-", picture.svg)
    drawing = drawing.replace("<svg ", '<svg focusable="false" ', 1)
    return Markup(theme.by_variable(drawing))


def _lean(spec: Any, store: dict[str, Any]) -> Any:
    """Move the data of a specification into a store that all pictures of the page share, each under its fingerprint."""
    if isinstance(spec, list):
        return [_lean(part, store) for part in spec]
    if not isinstance(spec, dict):
        return spec
    if set(spec) == {"values"} and len(spec["values"]) > _FEW:
        name = "d" + hashlib.sha256(json.dumps(spec["values"]).encode()).hexdigest()[:16]
        store[name] = spec["values"]
        return {"name": name}
    return {name: _lean(part, store) for name, part in spec.items()}


def _as_json(content: Any) -> str:
    """Write JSON that can end no script element, its colours following the page."""
    text = theme.by_variable(json.dumps(content, ensure_ascii=False, allow_nan=False, separators=(",", ":")))
    return text.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")


def _fingerprint(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


@cache
def _style() -> str:
    """Return the style sheet with both papers' colours and the three faces inside."""
    style = _read("report.css")
    for paper, place in ((theme.LIGHT, "@@LIGHT@@"), (theme.DARK, "@@DARK@@")):
        style = style.replace(
            place, " ".join(f"{name}: {value};" for name, value in theme.variables(paper).items())
        )
    faces: dict[str, fonts.Weight] = {
        "@@REGULAR@@": "regular",
        "@@SEMIBOLD@@": "semibold",
        "@@ITALIC@@": "italic",
    }
    for place, weight in faces.items():
        held = base64.b64encode(fonts.woff(weight)).decode()
        style = style.replace(place, f"data:font/woff;base64,{held}")
    return style


@cache
def _template() -> jinja2.Template:
    loader = jinja2.FileSystemLoader(_HERE)
    house = jinja2.Environment(loader=loader, autoescape=True, undefined=jinja2.StrictUndefined)
    house.filters["whole"] = whole
    return house.get_template("report.html.j2")


def _read(name: str) -> str:
    return (_HERE / name).read_text(encoding="utf-8")
