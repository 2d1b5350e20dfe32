"""The pictures of hospitals: a pool comes in; its hospitals one under the other, and against their size, go out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import pyarrow as pa

from .. import wording
from ..estimates.pooling import funnel
from .findings import Figure
from .pooling import HospitalPool

_FIELDS: list[tuple[str, pa.DataType]] = [
    ("label", pa.string()),
    *((name, pa.float64()) for name in ("share", "low", "high", "weight")),
    *((name, pa.string()) for name in ("events", "n", "kind", "follow_up")),
]
SERIES = pa.schema(_FIELDS)
"""Columns of the frame of a picture of series."""


def hospitals_figure(pool: HospitalPool, others: Sequence[str]) -> Figure:
    """Each hospital with its limits and weight, and the pool under them.

    Parameters
    ----------
    pool : HospitalPool
    others : sequence of str
        Repairs whose pools are told in the table only.
    """
    rows: list[dict[str, Any]] = []
    for shown, row in zip(pool.rates.series, pool.rows, strict=True):
        rows.append(
            {
                "label": row.label,
                "share": pool.by_then(shown.estimate),
                "low": pool.by_then(shown.low),
                "high": pool.by_then(shown.high),
                "weight": shown.weight,
                "events": wording.count(row.events),
                "n": wording.count(row.groins),
                "kind": "series",
                "follow_up": wording.pooling_followed(row.years),
            }
        )
    estimate, low, high = pool.risk
    rows.append(
        {
            "label": wording.capital(wording.pool_label()),
            "share": estimate,
            "low": low,
            "high": high,
            "weight": 1.0,
            "events": wording.count(sum(row.events for row in pool.rows)),
            "n": wording.count(sum(row.groins for row in pool.rows)),
            "kind": "pooled",
            "follow_up": wording.pooling_followed(sum(row.years for row in pool.rows)),
        }
    )
    if not math.isnan(pool.ahead[0]):
        rows.append(
            {
                "label": wording.pooling_further(),
                "low": pool.ahead[0],
                "high": pool.ahead[1],
                "kind": "prediction",
            }
        )
    return Figure(
        name="hospitals-pooled",
        kind="pooled_series",
        title=wording.pooling_picture_title(pool.repair, pool.years),
        alt=wording.pooling_picture_alt(pool.repair, pool.hospitals, pool.risk),
        caption=wording.pooling_picture_caption(pool.years, others),
        frames={"series": pa.Table.from_pylist(rows, schema=SERIES)},
    )


def funnel_figure(pool: HospitalPool) -> list[Figure]:
    """Each hospital against its size, with the limits that chance alone would keep it in.

    Nothing where there is no recurrence, or fewer than two hospitals are large enough for a limit to mean anything.
    """
    if not sum(row.events for row in pool.rows):
        return []
    labels, events = [row.label for row in pool.rows], [row.events for row in pool.rows]
    first = funnel(events, pool.groins, labels)
    # interpolated limits of a tiny hospital lie below one event: a single one would be outside whatever its chance
    large = first.at.high95 * first.n >= 1
    kept = [place for place in range(len(labels)) if large[place]]
    if len(kept) < 2:
        return []
    told = funnel(
        [events[place] for place in kept],
        [pool.groins[place] for place in kept],
        [labels[place] for place in kept],
        centre=first.at.centre,
    )
    outside = [label for label, where in zip(told.labels, told.outside, strict=True) if where]
    points = [
        {"label": label, "n": n, "share": share, "events": wording.count(round(count))}
        for label, n, share, count in zip(told.labels, told.n, told.share, told.events, strict=True)
    ]
    across, up = wording.funnel_axes(pool.years)
    return [
        Figure(
            name="hospitals-by-size",
            kind="funnel",
            title=wording.funnel_title(pool.repair, pool.years),
            alt=wording.funnel_alt(outside),
            caption=wording.funnel_caption(
                first.at.centre,
                len(kept),
                outside,
                [label for place, label in enumerate(labels) if place not in kept],
            ),
            frames={
                "points": pa.Table.from_pylist(points),
                "limits": told.curve.to_frame(),
                "axes": pa.table({"x": [across], "y": [up]}),
            },
        )
    ]
