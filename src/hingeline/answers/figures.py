"""The frames that each kind of picture is drawn from.

A kind is a contract between answers and pictures: the columns named here, in the units named here. Every
frame that reaches a picture has already passed the rule on small cells.

``flow``
    ``boxes``: id, label, n (text), row, column, side (bool: a box of what was set aside), of (id it hangs from or "").
``repairs_by_age``
    ``bars``: age_from, age_to (years), type, n, per_year (n divided by the width in years), sex ("all" or one);
    ``marks``: what ("hump" or "trough"), age, height (per_year), label.
``repairs_by_hospital``
    ``bars`` as above plus hospital and setting; ``limits``: hospital, takes_from, takes_to.
``rates_by_age``
    ``lines``: age_from, age_to, age, type, sex, rate, low, high (per 100,000 person-years), n.
``direct_share``
    ``points``: age, age_from, age_to, share, low, high, n, direct (text, a range when small);
    ``curve``: age, share, low, high (pointwise), wide_low, wide_high (simultaneous);
    ``hinge``: age, share, low, high;
    ``turns``: number, age, from_age, to_age (one row a stretch), share, sign ("up"/"down"), identified, label;
    ``crossings``: threshold, age (NaN when not reached), low, high, label, headline (bool).
``direct_share_by_hospital``
    ``points`` as above plus hospital; ``hinge``: hospital, age, share.
``direct_share_by_sex``
    ``points`` as above plus sex.
``recurrence_curves``
    ``steps``: group (a repair, or a name), years, risk, low, high (shares; a step function that begins at 0 years);
    ``at_risk``: group, years (whole), n (text); ``marks``: group, years, risk, label (what is told at a horizon).
"""

from __future__ import annotations

from typing import Final

KINDS: Final[dict[str, dict[str, tuple[str, ...]]]] = {
    "flow": {"boxes": ("id", "label", "n", "row", "column", "side", "of")},
    "repairs_by_age": {
        "bars": ("age_from", "age_to", "type", "n", "per_year", "sex"),
        "marks": ("what", "age", "height", "label"),
    },
    "repairs_by_hospital": {
        "bars": ("age_from", "age_to", "type", "n", "per_year", "hospital", "setting"),
        "limits": ("hospital", "takes_from", "takes_to"),
    },
    "rates_by_age": {
        "lines": ("age_from", "age_to", "age", "type", "sex", "rate", "low", "high", "n"),
    },
    "direct_share": {
        "points": ("age", "age_from", "age_to", "share", "low", "high", "n", "direct"),
        "curve": ("age", "share", "low", "high", "wide_low", "wide_high"),
        "hinge": ("age", "share", "low", "high"),
        "turns": ("number", "age", "from_age", "to_age", "share", "sign", "identified", "label"),
        "crossings": ("threshold", "age", "low", "high", "label", "headline"),
    },
    "direct_share_by_hospital": {
        "points": ("hospital", "age", "age_from", "age_to", "share", "low", "high", "n", "direct"),
        "hinge": ("hospital", "age", "share"),
    },
    "direct_share_by_sex": {
        "points": ("sex", "age", "age_from", "age_to", "share", "low", "high", "n", "direct"),
    },
    "recurrence_curves": {
        "steps": ("group", "years", "risk", "low", "high"),
        "at_risk": ("group", "years", "n"),
        "marks": ("group", "years", "risk", "label"),
    },
}
"""Kind of picture → frame → columns it must have."""
