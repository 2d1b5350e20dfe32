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

What became of the groins; risks, differences and margins are shares (0.02 is two points), and what is not known
or may not be shown is null:

``recurrence_curves``
    ``steps``: group (a repair's name, or the words of another stratum), years, risk, low, high (a step function:
    each row holds from its time on), and few (bool, may be left out: fewer than the least number remain at risk);
    ``at_risk``: group, years (whole), n (text); ``marks``: group, years, risk, label (told by a tooltip).
``pooled_series``
    ``series``: label, share, low, high, weight (0 to 1), events, n (text), kind ("series", "summary", "pooled" or
    "prediction", of which only the limits are drawn), follow_up (text).
``funnel``
    ``points``: label, n, share, events (text); ``limits``: n, centre, low95, high95, low998, high998;
    ``axes`` (may be left out): x, y (titles).
``balance``
    ``rows``: covariate, when ("before" or "after" weighting), difference (absolute, standardised).
``contrast_risks``
    ``rows``: pair, years, difference, low, high, verdict (words); ``margin``: margin (one row, or none).
``one_more``
    ``rows``: change (events), estimate, low, high, verdict (words); ``margin``: margin (one row, or none);
    ``axes`` (may be left out): x, y.
``tipping``
    ``cells``: first_lost, second_lost (shares of those lost who had the event), verdict (words);
    ``observed`` (may be left out): first_lost, second_lost, label; ``axes`` (may be left out): x, y.
``size``
    ``rows``: assumption (a number or words), size, series; ``chosen`` (may be left out): assumption, size, label;
    ``axes`` (may be left out): x, y.
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
    "pooled_series": {
        "series": ("label", "share", "low", "high", "weight", "events", "n", "kind", "follow_up"),
    },
    "funnel": {
        "points": ("label", "n", "share", "events"),
        "limits": ("n", "centre", "low95", "high95", "low998", "high998"),
    },
    "balance": {"rows": ("covariate", "when", "difference")},
    "contrast_risks": {
        "rows": ("pair", "years", "difference", "low", "high", "verdict"),
        "margin": ("margin",),
    },
    "one_more": {"rows": ("change", "estimate", "low", "high", "verdict"), "margin": ("margin",)},
    "tipping": {"cells": ("first_lost", "second_lost", "verdict")},
    "size": {"rows": ("assumption", "size", "series")},
}
"""Kind of picture → frame → columns it must have."""

MAY_HAVE: Final[dict[str, dict[str, tuple[str, ...]]]] = {
    "recurrence_curves": {"steps": ("few",)},
    "funnel": {"axes": ("x", "y")},
    "one_more": {"axes": ("x", "y")},
    "tipping": {"observed": ("first_lost", "second_lost", "label"), "axes": ("x", "y")},
    "size": {"chosen": ("assumption", "size", "label"), "axes": ("x", "y")},
}
"""Kind of picture → frame → columns that are drawn when they are there."""
