"""Recurrence pooled over hospitals: follow-up tallies and published series come in, the part of the answer goes out.

The rows are made in `pooling_rows`, the pictures in `pooling_pictures`; the models are those of `estimates.pooling`.
What a published series is shown beside is this study's own pool at the ages that are compared.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import pyarrow as pa

from .. import wording
from ..counts import FollowUpTally
from ..estimates.pooling import Pooled, leave_one_out, pool_rates, pool_shares
from ..protocol import Protocol
from .findings import Figure, Finding, Grid, Part
from .outcome_cells import leaving_of
from .pooling_rows import HospitalRow, hospital_rows, risk_of_rate, worth
from .recurrence_rows import REPAIRS, grouped, headline_of

if TYPE_CHECKING:
    from .outcomes import OutcomeTallies

Titled = tuple[str, pa.Table]
"""A table of published series with its title, as the protocol's ``[[series]]`` name them."""


@dataclass(frozen=True)
class HospitalPool:
    """One repair pooled over hospitals.

    Attributes
    ----------
    repair : str
    rows : tuple of HospitalRow
    years : float
        The horizon.
    """

    repair: str
    rows: tuple[HospitalRow, ...]
    years: float

    @cached_property
    def rates(self) -> Pooled:
        """Poisson–normal, per person-year."""
        return pool_rates(self._events, [row.years for row in self.rows], self._labels, per=1.0)

    @property
    def hospitals(self) -> int:
        """Hospitals behind the rows."""
        return sum(len(row.hospitals) for row in self.rows)

    @property
    def risk(self) -> tuple[float, float, float]:
        """Pooled risk by the horizon with its limits."""
        told = self.rates
        return (self.by_then(told.estimate), self.by_then(told.low), self.by_then(told.high))

    @property
    def ahead(self) -> tuple[float, float]:
        """Where a further hospital would lie; not a number where it cannot be told."""
        return (self.by_then(self.rates.prediction_low), self.by_then(self.rates.prediction_high))

    def by_then(self, rate: float) -> float:
        """Turn a rate into the risk by the horizon."""
        return risk_of_rate(rate, self.years)

    @cached_property
    def groins(self) -> list[int]:
        """Each row's follow-up in groins followed for the whole horizon."""
        return [worth(row.events, row.years, self.years) for row in self.rows]

    @cached_property
    def shares(self) -> Pooled:
        """Binomial–normal on groins' worth of follow-up."""
        return pool_shares(self._events, self.groins, self._labels)

    @cached_property
    def inverse(self) -> Pooled:
        """Inverse variance on groins' worth of follow-up."""
        return pool_shares(self._events, self.groins, self._labels, model="reml")

    @cached_property
    def known(self) -> Pooled | None:
        """Binomial–normal on those alone whose state at the horizon is known; it selects."""
        rows = [row for row in self.rows if row.known]
        if len(rows) < 2:
            return None
        return pool_shares(
            [row.events for row in rows], [row.known for row in rows], [row.label for row in rows]
        )

    @cached_property
    def without(self) -> dict[str, float]:
        """Pooled risk with each row left out."""
        return {row.label: self.by_then(row.estimate) for row in leave_one_out(self.rates).rows}

    @property
    def spread(self) -> str:
        """Say how much hospitals differ."""
        return wording.pooling_spread(self.repair, self.rates.q_p, self.ahead)

    @property
    def _events(self) -> list[int]:
        return [row.events for row in self.rows]

    @property
    def _labels(self) -> list[str]:
        return [row.label for row in self.rows]


def pool_hospitals(tally: FollowUpTally, protocol: Protocol) -> tuple[list[HospitalPool], list[str]]:
    """Pool each repair over hospitals.

    Parameters
    ----------
    tally : FollowUpTally
        Already restricted to those meant.
    protocol : Protocol

    Returns
    -------
    list of HospitalPool, list of str
        Repairs with two rows or more; those that were done and cannot be pooled.
    """
    years = protocol.outcomes.headline_years
    pools, small = [], []
    for group in grouped(tally, protocol, "repair", REPAIRS):
        if not group.groins:
            continue
        rows = (
            hospital_rows(tally.where(repair=group.name), protocol, years)
            if group.standing == "told" and group.followed
            else ()
        )
        if len(rows) < 2:
            small.append(group.name)
        else:
            pools.append(HospitalPool(group.name, rows, years))
    return pools, small


def pooling_part(
    tallies: OutcomeTallies,
    protocol: Protocol,
    series: Sequence[Titled] = (),
) -> tuple[Part, tuple[Finding, ...]]:
    """Tell recurrence pooled over hospitals, with published series beside.

    Parameters
    ----------
    tallies : OutcomeTallies
    protocol : Protocol
    series : sequence of (str, pyarrow.Table)
        Title and table of each ``[[series]]``, as `counts.series.read_series` reads it.

    Returns
    -------
    Part, tuple of Finding
        What cannot be pooled is said in the sentence; it has no finding.
    """
    from .pooling_pictures import funnel_figure, hospitals_figure
    from .pooling_published import published

    years = protocol.outcomes.headline_years
    head = headline_of(tallies.recurrence, protocol)
    pools, small = pool_hospitals(head, protocol)
    figures: list[Figure] = []
    if pools:
        shown = max(pools, key=lambda pool: (pool.hospitals, sum(row.events for row in pool.rows)))
        figures += [hospitals_figure(shown, [pool.repair for pool in pools if pool is not shown])]
        figures += funnel_figure(shown)
    beside = published(head, protocol, series)
    sentence = wording.pooling_sentence(
        years,
        [(pool.repair, pool.risk, pool.rates.one_sided, pool.hospitals) for pool in pools],
        small,
        protocol.privacy.smallest_cell,
    )
    tested = [(pool.repair, pool.rates.q_p) for pool in pools if not pool.rates.one_sided]
    spread = wording.pooling_differences(
        [one for one in tested if one[1] < 0.05], [one for one in tested if one[1] >= 0.05]
    )
    part = Part(
        id="hospitals-pooled",
        heading=wording.pooling_heading(),
        sentence=f"{sentence} {spread}".strip(),
        figures=(*figures, *beside.figures),
        grids=(
            *((_pools_grid(pools, protocol), _ways_grid(pools, tallies, protocol)) if pools else ()),
            *_left_grid(pools),
        ),
        method=wording.pooling_method(years),
        cannot=(*wording.pooling_cannot(), *beside.cannot),
        leads=False,
    )
    return part, (*(_finding(pool, protocol) for pool in pools), *beside.findings)


def _pools_grid(pools: Sequence[HospitalPool], protocol: Protocol) -> Grid:
    rows, warnings, joined = [], [], []
    for pool in pools:
        told = pool.rates
        rows.append(
            (
                wording.repair_cell(pool.repair),
                wording.count(pool.hospitals),
                wording.count(sum(row.events for row in pool.rows)),
                wording.number(sum(row.years for row in pool.rows), 0),
                wording.pooling_risk(pool.risk, told.one_sided),
                wording.pooling_ahead(*pool.ahead),
                wording.pooling_between(told.tau2, told.tau2_low, told.tau2_high),
                wording.pooling_share(told.i2),
            )
        )
        warnings += [
            wording.pooling_warned(pool.repair, text) for text in told.warnings if not told.one_sided
        ]
        joined += [
            wording.pooling_joined(pool.repair, row.hospitals) for row in pool.rows if len(row.hospitals) > 1
        ]
    return Grid(
        wording.pooling_grid_title(protocol.outcomes.headline_years),
        wording.pooling_heads(),
        tuple(rows),
        wording.pooling_note(protocol.outcomes.headline_years, warnings, joined),
        numeric=tuple(range(1, 8)),
    )


def _ways_grid(pools: Sequence[HospitalPool], tallies: OutcomeTallies, protocol: Protocol) -> Grid:
    """Set other models and denominators beside the one that is told."""
    years, consent = protocol.outcomes.headline_years, leaving_of(protocol).consent
    rows = [_way("rates", years, [wording.pooling_risk(pool.risk, pool.rates.one_sided) for pool in pools])]
    rows.append(_way("worth", years, [_share(pool.shares) for pool in pools]))
    rows.append(_way("reml", years, [_share(pool.inverse) for pool in pools]))
    best = {pool.repair: pool for pool in pool_hospitals(headline_of(tallies.cutoff, protocol), protocol)[0]}
    well = [best.get(pool.repair) for pool in pools]
    rows.append(
        _way(
            "well",
            years,
            [
                wording.nothing() if one is None else wording.pooling_risk(one.risk, one.rates.one_sided)
                for one in well
            ],
        )
    )
    if consent:  # how many were followed to the end by hospital is told nowhere else
        rows.append(_way("known", years, [_share(pool.known) for pool in pools]))
    halved = any(
        sum(row.events for row in pool.rows) > 0 and 0 in [row.events for row in pool.rows] for pool in pools
    )
    heads = wording.pooling_ways_heads([pool.repair for pool in pools])
    return Grid(
        wording.pooling_ways_title(years),
        heads,
        tuple(rows),
        wording.pooling_ways_note(years, halved, consent),
        numeric=tuple(range(1, len(heads))),
    )


def _way(name: str, years: float, cells: Sequence[str]) -> tuple[str, ...]:
    return (wording.pooling_way(name, years), *cells)


def _share(told: Pooled | None) -> str:
    if told is None:
        return wording.nothing()
    return wording.pooling_risk((told.estimate, told.low, told.high), told.one_sided)


def _left_grid(pools: Sequence[HospitalPool]) -> list[Grid]:
    """Tell each pool with one row left out; nothing where no pool has three."""
    told = [pool for pool in pools if len(pool.rows) > 2 and not pool.rates.one_sided]
    if not told:
        return []
    labels = list(dict.fromkeys(row.label for pool in told for row in pool.rows))
    rows = tuple(
        (
            label,
            *(
                wording.percent(pool.without[label]) if label in pool.without else wording.nothing()
                for pool in told
            ),
        )
        for label in labels
    )
    most = []
    for pool in told:
        whole = pool.risk[0]
        label = max(pool.without, key=lambda name: abs(pool.without[name] - whole))
        most.append((pool.repair, label, pool.without[label], whole))
    heads = wording.pooling_left_heads([pool.repair for pool in told])
    return [
        Grid(
            wording.pooling_left_title(),
            heads,
            rows,
            wording.pooling_left_note(most),
            numeric=tuple(range(1, len(heads))),
        )
    ]


def _finding(pool: HospitalPool, protocol: Protocol) -> Finding:
    counting = protocol.counting
    estimate, low, high = pool.risk
    events = sum(row.events for row in pool.rows)
    spread = "" if pool.rates.one_sided else pool.spread
    return Finding(
        id=f"pooled.{pool.repair}",
        estimand=wording.pooling_estimand(pool.repair, pool.years),
        estimate=estimate,
        unit="share",
        low=low,
        high=high,
        method=pool.rates.method,
        n=sum(row.groins for row in pool.rows),
        events=events,
        cells=wording.recurrence_cells(counting.sex, counting.occurrence, counting.reasons, (pool.repair,)),
        sentence=wording.pooling_finding(
            pool.repair,
            pool.years,
            pool.risk,
            pool.rates.one_sided,
            pool.hospitals,
            wording.count(events),
            spread,
        ).strip(),
    )
