"""The pictures of the direct share: their frames, each of which has passed the rule on small cells.

Estimates on the headline cases and the tally come in, figures go out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from .. import wording
from ..counts import PatternTally
from ..estimates.hinge_design import share as hinge_share
from ..protocol import Protocol
from .findings import Figure
from .headline import ShareEstimates, headline_tally
from .spans import FLOAT, TEXT, WHOLE, schema_of, share_points

Floats = NDArray[np.float64]


def share_pictures(estimates: ShareEstimates, tally: PatternTally, protocol: Protocol) -> Iterator[Figure]:
    """Yield the pictures of the direct share: of the study, of each hospital where that may leave, of each sex."""
    yield share_picture(estimates, protocol)
    if protocol.privacy.events_may_leave:  # pool less hospitals would give small counts away
        yield _hospital_picture(estimates, protocol)
    yield _sex_picture(tally, protocol)


def share_picture(estimates: ShareEstimates, protocol: Protocol) -> Figure:
    """The picture of the project: points, curve with bands, hinge fit, turns and crossings with intervals."""
    data, fit, boot, curve = estimates.data, estimates.fit, estimates.boot, estimates.curve
    counting, privacy = protocol.counting, protocol.privacy
    ages = estimates.ages
    mix = boot.mix
    pointwise = curve.band(ages, "pointwise", mix)
    wide = curve.band(ages, "simultaneous", mix)
    limits = np.quantile(boot.shares, [(1 - boot.level) / 2, (1 + boot.level) / 2], axis=0)
    turns = []
    for place, turn in enumerate(fit.turns, start=1):
        for low, high in turn.stretches:
            turns.append(
                {
                    "number": place,
                    "age": turn.age,
                    "from_age": low,
                    "to_age": high,
                    "share": float(fit.predict(np.array([turn.age]))[0]),
                    "sign": "up" if turn.sign > 0 else "down",
                    "identified": bool(turn.identified),
                    "label": wording.turn_label(
                        place, turn.sign, turn.age, turn.stretches, bool(turn.identified)
                    ),
                }
            )
    crossings = []
    for threshold in counting.thresholds:
        told = estimates.crossing(threshold)
        crossings.append(
            {
                "threshold": threshold,
                "age": told.age if math.isfinite(told.age) else math.nan,
                "low": told.interval[0],
                "high": told.interval[1],
                "label": wording.crossing_label(threshold, told.age, *told.interval, told.highest),
                "headline": threshold == counting.headline_threshold,
            }
        )
    points = share_points(
        data.tally,
        counting.direct,
        counting.among,
        privacy.smallest_cell,
        privacy.events_may_leave,
        fit.level,
    )
    return Figure(
        name="direct-share",
        kind="direct_share",
        title=wording.share_title(counting.occurrence, counting.sex),
        alt=wording.share_alt(
            data.rows.n_groins,
            [
                wording.turn_label(i, t.sign, t.age, t.stretches, bool(t.identified))
                for i, t in enumerate(fit.turns, 1)
            ],
            [str(row["label"]) for row in crossings],
        ),
        caption=wording.share_caption(fit.level, boot.replicates),
        frames={
            "points": points,
            "curve": pa.table(
                {
                    "age": ages,
                    "share": pointwise.share,
                    "low": pointwise.low,
                    "high": pointwise.high,
                    "wide_low": wide.low,
                    "wide_high": wide.high,
                }
            ),
            "hinge": pa.table(
                {
                    "age": ages,
                    "share": _standardised(estimates, ages, mix),
                    "low": limits[0],
                    "high": limits[1],
                }
            ),
            "turns": pa.Table.from_pylist(turns, schema=_TURNS),
            "crossings": pa.Table.from_pylist(crossings, schema=_CROSSINGS),
        },
    )


_TURNS = schema_of(
    number=WHOLE,
    age=FLOAT,
    from_age=FLOAT,
    to_age=FLOAT,
    share=FLOAT,
    sign=TEXT,
    identified=pa.bool_(),
    label=TEXT,
)
_CROSSINGS = schema_of(threshold=FLOAT, age=FLOAT, low=FLOAT, high=FLOAT, label=TEXT, headline=pa.bool_())


def _standardised(estimates: ShareEstimates, ages: Floats, mix: Floats) -> Floats:
    """The hinge fit's share at ages under the bootstrap's mix, so that line and band are of one thing."""
    fit = estimates.fit
    turns = np.array([turn.age for turn in fit.turns])
    return hinge_share(fit.penalised, turns, ages, mix)


def _hospital_picture(estimates: ShareEstimates, protocol: Protocol) -> Figure:
    counting, privacy, fit = protocol.counting, protocol.privacy, estimates.fit
    turns = np.array([turn.age for turn in fit.turns])
    points, lines = [], []
    for code, name in enumerate(estimates.data.rows.hospitals):
        chosen = estimates.data.tally.where(hospital=name)
        shown = share_points(chosen, counting.direct, counting.among, privacy.smallest_cell, True, fit.level)
        points.append(_named(shown, "hospital", name))
        if not shown.num_rows:
            continue
        ages = estimates.ages
        low, high = shown["age_from"].to_numpy().min(), shown["age_to"].to_numpy().max()
        ages = ages[(ages >= low) & (ages <= high)]
        only = np.eye(len(estimates.data.rows.hospitals))[code]
        lines.append(
            _named(
                pa.table({"age": ages, "share": hinge_share(fit.penalised, turns, ages, only)}),
                "hospital",
                name,
            )
        )
    return Figure(
        name="direct-share-by-hospital",
        kind="direct_share_by_hospital",
        title=wording.share_hospitals_title(),
        alt=wording.share_hospitals_alt(estimates.data.rows.hospitals),
        caption=wording.share_hospitals_caption(privacy.smallest_cell),
        frames={"points": pa.concat_tables(points), "hinge": pa.concat_tables(lines)},
    )


def _sex_picture(tally: PatternTally, protocol: Protocol) -> Figure:
    counting, privacy = protocol.counting, protocol.privacy
    points = []
    for sex in ("male", "female"):
        shown = share_points(
            headline_tally(tally, protocol, sex=sex),
            counting.direct,
            counting.among,
            privacy.smallest_cell,
            privacy.events_may_leave,
        )
        points.append(_named(shown, "sex", sex))
    return Figure(
        name="direct-share-by-sex",
        kind="direct_share_by_sex",
        title=wording.share_sexes_title(),
        alt=wording.share_sexes_alt(),
        caption=wording.share_sexes_caption(privacy.smallest_cell),
        frames={"points": pa.concat_tables(points)},
    )


def _named(table: pa.Table, column: str, value: str) -> pa.Table:
    return table.add_column(0, column, pa.array([value] * table.num_rows, pa.string()))
