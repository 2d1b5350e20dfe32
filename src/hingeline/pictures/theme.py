"""The one theme of all pictures and pages: colours, type styles, sizes and Vega-Lite's config.

Nothing comes in; every picture takes its colours and sizes from here. Each colour has a name, a value on
white paper and a value on dark paper, so that a page can swap them by name; the five types of hernia differ
in lightness (so in grey too), in dash and in mark, and are always labelled in words.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any, Final

from hingeline.pictures import fonts

SCHEMA: Final = "https://vega.github.io/schema/vega-lite/v6.json"
"""A name for the kind of file, as the format asks; nothing is fetched from it."""

VEGA_LITE: Final = "6.4"
"""The version that vl-convert draws with, in files and in the page alike."""


@dataclass(frozen=True)
class Paper:
    """The colours of one paper, by name; all are six-digit hex.

    Attributes
    ----------
    paper, ink, soft, rule, wash : str
        Background; text and fitted lines; lesser text; hairlines; pale fill behind things.
    band, wide : str
        Pointwise and simultaneous band of a smooth curve.
    curve : str
        The smooth curve.
    indirect, direct, combined, femoral, unknown : str
        Types of hernia.
    edge : str
        Outline of what is paler than the paper allows (type unknown).
    track : str
        Bar of an interval of ages.
    high_ligation, tissue, mesh : str
        Kinds of repair.
    other_one, other_two, other_three : str
        Further groups that are no repairs.
    link : str
        Links and what has the keyboard's focus.
    """

    paper: str
    ink: str
    soft: str
    rule: str
    wash: str
    band: str
    wide: str
    curve: str
    indirect: str
    direct: str
    combined: str
    femoral: str
    unknown: str
    edge: str
    link: str
    track: str
    high_ligation: str
    tissue: str
    mesh: str
    other_one: str
    other_two: str
    other_three: str


LIGHT: Final = Paper(
    paper="#ffffff",
    ink="#17232b",
    soft="#4f5d66",
    rule="#d6dde1",
    wash="#f1f4f5",
    band="#c3ced5",
    wide="#e4eaed",
    curve="#66777f",
    indirect="#0b5560",
    direct="#d27c00",
    combined="#b0533a",
    femoral="#3b1f4d",
    unknown="#bcc3c7",
    edge="#6c767c",
    link="#0a4d7a",
    track="#a9b4bb",
    high_ligation="#16286e",
    tissue="#7a2f6c",
    mesh="#527f1f",
    other_one="#2b2b2b",
    other_two="#5f5126",
    other_three="#99576b",
)
DARK: Final = Paper(
    paper="#12191d",
    ink="#eef3f5",
    soft="#a9b7bf",
    rule="#34424a",
    wash="#1b252b",
    band="#3d4e58",
    wide="#25323a",
    curve="#8fa2ac",
    indirect="#2a929c",
    direct="#f5b84a",
    combined="#e8966e",
    femoral="#e6dcf2",
    unknown="#5f6b72",
    edge="#8d9aa2",
    link="#8cc4ee",
    track="#5d717c",
    high_ligation="#8fb0ff",
    tissue="#c26cb3",
    mesh="#cdf09a",
    other_one="#d5d5d5",
    other_two="#cbb97f",
    other_three="#cf7d96",
)


@dataclass(frozen=True)
class TypeStyle:
    """How one type of hernia is drawn, beside its colour: dash of its line, shape of its mark."""

    dash: tuple[int, ...]
    shape: str


TYPE_STYLES: Final[dict[str, TypeStyle]] = {
    "indirect": TypeStyle((1, 0), "circle"),
    "direct": TypeStyle((7, 4), "square"),
    "combined": TypeStyle((9, 3, 2, 3), "diamond"),
    "femoral": TypeStyle((2, 3), "triangle-up"),
    "unknown": TypeStyle((1, 4), "cross"),
}


@dataclass(frozen=True)
class GroupStyle:
    """How a group of groins is drawn: name of its colour, dash of its line, shape of its mark."""

    colour: str
    dash: tuple[int, ...]
    shape: str


REPAIR_STYLES: Final[dict[str, GroupStyle]] = {
    "high_ligation": GroupStyle("high_ligation", (1, 0), "circle"),
    "tissue": GroupStyle("tissue", (2, 3), "triangle-up"),
    "mesh": GroupStyle("mesh", (8, 4), "square"),
}
"""Kinds of repair look the same in every picture; in grey they differ in lightness, dash and mark."""
OTHER_STYLES: Final = (
    GroupStyle("other_one", (1, 0), "circle"),
    GroupStyle("other_two", (8, 4), "square"),
    GroupStyle("other_three", (2, 3), "triangle-up"),
    GroupStyle("high_ligation", (9, 3, 2, 3), "diamond"),
    GroupStyle("tissue", (5, 2), "cross"),
    GroupStyle("mesh", (1, 4), "triangle-down"),
)


def group_style(name: str, place: int = 0) -> GroupStyle:
    """Return how a group is drawn: a repair in its own way, another by its place among the groups."""
    return REPAIR_STYLES.get(name, OTHER_STYLES[place % len(OTHER_STYLES)])


STACK_ORDER: Final = ("direct", "combined", "indirect", "femoral", "unknown")
"""From the foot up: what counts as direct stands on the axis, where its rise can be read."""


@dataclass(frozen=True)
class Sheet:
    """The size a picture is drawn for, in pixels.

    Attributes
    ----------
    width : int
        The whole picture. At 880 the text is 1/40 of a picture's height or more: it can be read from the
        back row.
    text, small, head : int
        Size of labels, of lesser labels and of the heading.
    axis : int
        Room kept for the labels of a vertical axis.
    """

    width: int
    text: int
    small: int
    head: int
    axis: int

    @property
    def narrow(self) -> bool:
        """Whether this is a telephone's page."""
        return self.width < 600


WIDE: Final = Sheet(width=880, text=15, small=14, head=20, axis=46)
NARROW: Final = Sheet(width=340, text=14, small=13, head=17, axis=40)


def colour(name: str) -> str:
    """Return a colour of the white paper by its name, or by the name of a type."""
    return str(getattr(LIGHT, name))


def variables(paper: Paper) -> dict[str, str]:
    """Return custom properties for a style sheet: ``--hl-ink`` → ``#17232b``."""
    return {f"--hl-{name}": value for name, value in vars(paper).items()}


def by_variable(drawing: str) -> str:
    """Replace each colour of the white paper by its custom property: a page then turns dark without redrawing.

    `drawing` is SVG, or a specification as JSON without blanks after colons. What was a colour as the value
    of an attribute or of a property that paints becomes ``var(--hl-ink)``; the same letters in a name are
    left alone.
    """
    names = {value: name for name, value in vars(LIGHT).items()}
    return _PAINTED.sub(
        lambda found: f'{found[1]}"var(--hl-{names[found[2]]})"' if found[2] in names else found[0], drawing
    )


_PAINTED: Final = re.compile(
    r'((?:\b(?:fill|stroke)=)|(?:"(?:fill|stroke|background|value|[A-Za-z]*[cC]olor)":))"(#[0-9a-f]{6})"'
)


def config(sheet: Sheet) -> dict[str, Any]:
    """Return Vega-Lite's config for a sheet: fonts, axes without clutter, no frame round the plot."""
    label = {"labelFont": fonts.STACK, "labelFontSize": sheet.text, "labelColor": LIGHT.soft}
    title = {
        "titleFont": fonts.STACK,
        "titleFontSize": sheet.text,
        "titleFontWeight": "normal",
        "titleColor": LIGHT.ink,
    }
    return {
        "font": fonts.STACK,
        "view": {"stroke": None},
        "aria": False,
        "point": {"filled": True, "opacity": 1},
        "axis": {
            **label,
            **title,
            "grid": False,
            "domainColor": LIGHT.soft,
            "tickColor": LIGHT.soft,
            "tickSize": 5,
            "labelPadding": 4,
            "gridColor": LIGHT.rule,
            "titlePadding": 8,
        },
        "axisY": {"domain": False, "ticks": False, "grid": True, "gridWidth": 1, "labelPadding": 9},
        "text": {"font": fonts.STACK, "fontSize": sheet.text, "color": LIGHT.ink},
        "title": {
            "font": fonts.STACK,
            "fontSize": sheet.head,
            "fontWeight": 600,
            "color": LIGHT.ink,
            "anchor": "start",
            "frame": "bounds",
            "offset": 14,
            "subtitleFont": fonts.STACK,
            "subtitleFontSize": sheet.text,
            "subtitleColor": LIGHT.soft,
        },
        "concat": {"spacing": 0},
    }
