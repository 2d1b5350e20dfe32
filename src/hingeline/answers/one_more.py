"""What one more recurrence would do, and those not followed: tallies come in, a part of the answer goes out.

The counts are those of `one_more_arms`, the arithmetic is `estimates.fragility`'s.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa

from .. import wording
from ..estimates.fragility import Fragility, Tipping, fragility, one_more, tipping_grid
from ..protocol import Protocol
from .findings import Figure, Finding, Grid, Part
from .one_more_arms import Arm, Pair, main_pair

if TYPE_CHECKING:
    from .outcomes import OutcomeTallies

TEACHING = (1, 30)
"""Events and patients of the small series that stands as an example."""
MOVES = (-1, 0, 1, 2, 3)
"""Events more or fewer in the table of small series."""
POINTS = 21
"""Shares a side of the grid of those not followed."""


def fragility_part(tallies: OutcomeTallies, protocol: Protocol) -> tuple[Part, tuple[Finding, ...]]:
    """Tell what one more recurrence would do, and what those not followed would have to show.

    Parameters
    ----------
    tallies : OutcomeTallies
    protocol : Protocol

    Returns
    -------
    Part, tuple of Finding
        Where two repairs cannot be set against each other the sentence says why, and there is no finding.
    """
    pair, contrast = main_pair(tallies.recurrence, protocol), protocol.contrast
    if pair.why:
        part = Part(
            id="one-more",
            heading=wording.fragile_heading(),
            sentence=wording.pair_not_told(pair.why, pair.who, contrast.arms, protocol.privacy.smallest_cell),
            grids=(_small_grid(None),),
            leads=False,
        )
        return part, ()
    first, second = pair.arms
    names = (wording.repair_word(first.repair), wording.repair_word(second.repair))
    told = fragility(
        first.events,
        first.worth,
        second.events,
        second.worth,
        question="non-inferiority",
        margin=contrast.margin,
        names=names,
    )
    tipping = lost_of(pair, contrast.margin)
    years = protocol.outcomes.headline_years
    part = Part(
        id="one-more",
        heading=wording.fragile_heading(),
        sentence=wording.fragile_sentence(
            pair.who,
            [wording.pair_arm(arm.repair, arm.events, arm.worth, arm.followed, years) for arm in pair.arms],
            str(told),
        ),
        figures=(
            _figure(pair, told),
            *([_lost_figure(pair, tipping)] if tipping is not None else []),
        ),
        grids=(_grid(pair, told), _small_grid(min(pair.compared, key=lambda arm: arm.worth))),
        method=wording.fragile_method(years),
        cannot=wording.fragile_cannot(),
        leads=False,
    )
    return part, _findings(pair, told, tipping, protocol)


def lost_of(pair: Pair, margin: float) -> Tipping | None:
    """Lay those not followed on a grid; None where everybody was followed.

    The grid reaches four times the higher of the two risks, a tenth at least: beyond that nobody would believe it.
    """
    first, second = pair.arms
    if not first.lost and not second.lost:
        return None
    highest = max(arm.events / arm.worth for arm in pair.arms)
    top = min(max(math.ceil(80 * highest) / 20, 0.1), 1.0)
    return tipping_grid(
        (first.events, second.events),
        (first.worth, second.worth),
        (first.lost, second.lost),
        question="non-inferiority",
        margin=margin,
        shares=np.linspace(0.0, top, POINTS).tolist(),
        names=(wording.repair_word(first.repair), wording.repair_word(second.repair)),
    )


def _figure(pair: Pair, told: Fragility) -> Figure:
    first, second = (arm.repair for arm in pair.arms)
    rows = [
        {
            "change": row.change,
            "estimate": row.estimate,
            "low": row.low,
            "high": row.high,
            "verdict": wording.fragile_verdict(row.verdict, first, second, told.margin),
        }
        for row in told.rows
    ]
    across, up = wording.fragile_axes(first, second)
    return Figure(
        name="one-more",
        kind="one_more",
        title=wording.fragile_title(first, second),
        alt=wording.fragile_alt(len({row.verdict for row in told.rows})),
        caption=wording.fragile_caption(first, second, told.margin),
        frames={
            "rows": pa.Table.from_pylist(rows),
            "margin": pa.table({"margin": [told.margin]}),
            "axes": pa.table({"x": [across], "y": [up]}),
        },
    )


def _lost_figure(pair: Pair, told: Tipping) -> Figure:
    first, second = (arm.repair for arm in pair.arms)
    cells = [
        {
            "first_lost": cell.first_lost,
            "second_lost": cell.second_lost,
            "verdict": wording.fragile_verdict(cell.verdict, first, second, told.margin),
        }
        for cell in told.cells
    ]
    across, up = wording.lost_axes(first, second, told.lost)
    as_followed = [events / followed for events, followed in zip(told.events, told.followed, strict=True)]
    return Figure(
        name="not-followed",
        kind="tipping",
        title=wording.lost_title(first, second),
        alt=wording.lost_alt(len({cell.verdict for cell in told.cells})),
        caption=wording.lost_caption(str(told)),
        frames={
            "cells": pa.Table.from_pylist(cells),
            "observed": pa.table(
                {
                    "first_lost": [as_followed[0]],
                    "second_lost": [as_followed[1]],
                    "label": [wording.lost_as_followed()],
                }
            ),
            "axes": pa.table({"x": [across], "y": [up]}),
        },
    )


def _grid(pair: Pair, told: Fragility) -> Grid:
    first = pair.arms[0].repair
    rows = tuple(
        (
            wording.fragile_change(row.change),
            wording.count(row.events),
            wording.fragile_difference(row.estimate, row.low, row.high),
            wording.fragile_p(row.p),
            wording.fragile_short(row.verdict, told.margin),
        )
        for row in told.rows
    )
    return Grid(
        wording.fragile_grid_title(first),
        wording.fragile_heads(first),
        rows,
        wording.fragile_note(told.index),
        numeric=(0, 1, 2, 3),
    )


def _small_grid(arm: Arm | None) -> Grid:
    """How one event moves the smallest arm, and a series of thirty."""
    series = [TEACHING] if arm is None else [(arm.events, arm.worth), TEACHING]
    told = [one_more(events, total, changes=MOVES) for events, total in series]
    rows = []
    for move in MOVES:
        cells = []
        for one in told:
            if move not in one.change:
                cells.append(wording.nothing())
                continue
            at = one.change.index(move)
            cells.append(
                wording.small_series_cell(one.count[at], one.total, one.share[at], one.low[at], one.high[at])
            )
        rows.append((wording.small_change(move), *cells))
    heads = wording.small_heads(None if arm is None else arm.repair, 0 if arm is None else arm.worth)
    return Grid(wording.small_title(), heads, tuple(rows), wording.small_note())


def _findings(
    pair: Pair, told: Fragility, tipping: Tipping | None, protocol: Protocol
) -> tuple[Finding, ...]:
    first, second = pair.arms
    counting, contrast, nan = protocol.counting, protocol.contrast, math.nan
    cells = wording.pair_cells(
        counting.sex,
        counting.occurrence,
        counting.reasons,
        contrast.types,
        contrast.ages,
        [arm.repair for arm in pair.arms],
    )
    name = f"{first.repair}-{second.repair}"

    def finding(id: str, estimand: str, estimate: int | None, sentence: str) -> Finding:
        return Finding(
            id=id,
            estimand=estimand,
            estimate=nan if estimate is None else float(estimate),
            unit="events",
            low=nan,
            high=nan,
            method=wording.fragile_method(protocol.outcomes.headline_years),
            n=first.followed + second.followed,
            events=first.events + second.events,
            cells=cells,
            sentence=sentence,
            status="not reached" if estimate is None else "told",
        )

    found = [
        finding(f"fragility.{name}", wording.fragile_estimand(first.repair), told.overturned_by, f"{told}."),
        finding(
            f"fragility.index.{name}",
            wording.index_estimand(),
            told.index,
            wording.index_told(first.repair, second.repair, told.index),
        ),
    ]
    if tipping is not None:
        found.append(
            finding(
                f"not-followed.{name}",
                wording.lost_estimand(first.repair),
                tipping.boundary[0],
                wording.lost_finding(str(tipping)),
            )
        )
    return tuple(found)
