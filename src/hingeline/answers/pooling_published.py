"""Published series beside the study's own pool: tables typed by hand come in, one picture each goes out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyarrow as pa

from .. import wording
from ..counts import FollowUpTally
from ..errors import HingelineError
from ..estimates.pooling import SeriesTable, pool_series
from ..protocol import Protocol
from .findings import Figure, Finding
from .outcome_cells import leaving_of
from .pooling import HospitalPool, Titled, pool_hospitals
from .pooling_pictures import SERIES

Columns = dict[str, list[Any]]


@dataclass(frozen=True)
class Published:
    """Pictures, findings, and what could not be told."""

    figures: tuple[Figure, ...] = ()
    findings: tuple[Finding, ...] = ()
    cannot: tuple[str, ...] = ()


def published(head: FollowUpTally, protocol: Protocol, series: Sequence[Titled]) -> Published:
    """Show each table of published series beside this study's pools at the ages that are compared.

    Parameters
    ----------
    head : FollowUpTally
        The headline's cases.
    protocol : Protocol
    series : sequence of (str, pyarrow.Table)
    """
    if not series:
        return Published()
    # ages within those told elsewhere would give small counts away
    consent = leaving_of(protocol).consent
    own, _ = pool_hospitals(at_ages(head, protocol.contrast.ages) if consent else head, protocol)
    figures, findings, cannot = [], [], []
    for place, (title, table) in enumerate(series, start=1):
        columns: Columns = {name: table[name].to_pylist() for name in table.column_names}
        try:
            told = pool_series(
                columns["label"],
                columns["events"],
                columns["n"],
                share=columns["share"],
                low=columns["low"],
                high=columns["high"],
                kind=columns["kind"],
            )
        except HingelineError as error:
            cannot.append(wording.published_cannot(title, error.what))
            continue
        figures.append(_figure(place, title, columns, told, own, protocol))
        findings += _finding(place, title, told)
    return Published(tuple(figures), tuple(findings), tuple(cannot))


def at_ages(tally: FollowUpTally, ages: tuple[float, float]) -> FollowUpTally:
    """Restrict to operations from one age up to but not including another."""
    edges = tally.tally.edges_years[:-1]
    return tally.where(age_bin=np.flatnonzero((edges >= ages[0] - 1e-9) & (edges < ages[1] - 1e-9)).tolist())


def _figure(
    place: int,
    title: str,
    columns: Columns,
    told: SeriesTable,
    own: Sequence[HospitalPool],
    protocol: Protocol,
) -> Figure:
    followed = dict(zip(columns["label"], columns["follow_up_years"], strict=True))
    rows = []
    for row in told.rows():
        years = followed.get(row.label)
        rows.append(
            {
                "label": wording.published_pool() if row.kind == "pooled" else wording.capital(row.label),
                "share": None if row.kind == "prediction" else _known(row.estimate),
                "low": _known(row.low),
                "high": _known(row.high),
                "weight": row.weight,
                "events": _counted(row.events),
                "n": _counted(row.total),
                "kind": row.kind,
                "follow_up": wording.followup_years(years) if isinstance(years, float) else "",
            }
        )
    for pool in own:
        estimate, low, high = pool.risk
        rows.append(
            {
                "label": wording.published_own(pool.repair),
                "share": estimate,
                "low": low,
                "high": high,
                "weight": 0.0,
                "events": wording.count(sum(row.events for row in pool.rows)),
                "n": wording.count(sum(row.groins for row in pool.rows)),
                "kind": "pooled",
                "follow_up": wording.pooling_followed(sum(row.years for row in pool.rows)),
            }
        )
    ages = wording.published_ages(protocol.contrast.ages if leaving_of(protocol).consent else None)
    return Figure(
        name=f"published-{place}",
        kind="pooled_series",
        title=wording.published_title(title),
        alt=wording.published_alt(len(told.rows()), len(own)),
        caption=wording.published_caption(
            str(told), ages, protocol.outcomes.headline_years, [] if told.pooled is None else told.warnings
        ),
        frames={"series": pa.Table.from_pylist(rows, schema=SERIES)},
    )


def _finding(place: int, title: str, told: SeriesTable) -> list[Finding]:
    pooled = told.pooled
    if pooled is None:
        return []
    return [
        Finding(
            id=f"published.{place}",
            estimand=wording.published_estimand(title),
            estimate=pooled.estimate,
            unit="share",
            low=pooled.low,
            high=pooled.high,
            method=pooled.method,
            n=round(sum(row.total for row in pooled.series)),
            events=round(sum(row.events for row in pooled.series)),
            cells=wording.published_cells(title),
            sentence=wording.published_finding(title, str(pooled)),
        )
    ]


def _known(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def _counted(value: float) -> str:
    return wording.count(round(value)) if math.isfinite(value) else ""
