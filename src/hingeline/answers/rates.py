"""Rates by age: repairs per 100,000 person-years of each type, and which of them bends where the share turns.

A tally with years of operation and the catchment's person-years come in, a part of the answer goes out. The logit of
the share is the difference of two log rates, so a turn of the share alone cannot say which disease changed; rates can.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from .. import wording
from ..counts import PatternTally
from ..errors import HingelineError
from ..estimates.ages import (
    EUROPEAN_STANDARD_2013,
    WHO_WORLD_STANDARD,
    StandardisedRate,
    standard_weights,
    standardise,
)
from ..estimates.hinge import HingeFit, fit_hinges
from ..estimates.hinge_fit import Turn
from ..protocol import Population, Protocol
from .findings import Figure, Finding, Grid, Part
from .spans import RateBand, rate_stretches

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

DIMENSIONS = ("sex", "occurrence", "reason", "type", "operated_year")
"""What the tally of rates is counted by; hospitals are one catchment."""

STANDARDS = {"european-2013": EUROPEAN_STANDARD_2013, "who-world": WHO_WORLD_STANDARD}
LINES = ("indirect", "direct", "femoral")
"""Types that are drawn; the protocol's types that count as direct are drawn together as direct."""


def bands_of(tally: PatternTally, population: pa.Table, protocol: Protocol, sex: str) -> RateBand:
    """Count the cases of the years that the person-years cover, in the population's age bands."""
    plan = _plan(protocol)
    part = population.filter(pa.array([value == sex for value in population["sex"].to_pylist()]))
    low, high = np.asarray(part["age_from"].to_numpy()), np.asarray(part["age_to"].to_numpy())
    years = range(plan.years[0], plan.years[1] + 1)
    counting = protocol.counting
    chosen = tally.where(
        sex=sex,
        occurrence=counting.occurrence,
        reason=tuple(counting.reasons),
        operated_year=tuple(years),
    )
    table = chosen.margin(by=["type", "age_bin"])
    edges = tally.edges_years
    bins = np.asarray(table["age_bin"].to_numpy(), dtype=np.int64)
    place = np.searchsorted(low, (edges[bins] + edges[bins + 1]) / 2, side="right") - 1
    inside = (place >= 0) & ((edges[bins] + edges[bins + 1]) / 2 < high[np.maximum(place, 0)])
    types = np.asarray(table["type"].to_pylist(), dtype=object)
    n = np.asarray(table["n"].to_numpy(), dtype=np.int64)
    cases = {}
    for kind in LINES:
        wanted = counting.direct if kind == "direct" else (kind,)
        here = inside & np.isin(types, list(wanted))
        cases[kind] = np.zeros(low.size, dtype=np.int64)
        np.add.at(cases[kind], place[here], n[here])
    return RateBand(low, high, np.asarray(part["person_years"].to_numpy()) * plan.coverage, cases)


def _plan(protocol: Protocol) -> Population:
    if protocol.population is None:
        raise HingelineError(
            "There are no denominators", "study.toml, [population]", "Add the catchment's person-years."
        )
    return protocol.population


@dataclass(frozen=True)
class RateBends:
    """Hinges of each type's log rate in the headline's sex, for comparison with the share's turns."""

    fits: dict[str, HingeFit]
    until: float


def bends(
    band: RateBand, protocol: Protocol, until: float, progress: Callable[[int, int], None]
) -> RateBends:
    """Give each type's log rate as many turns as it bears (BIC), at the ages up to a limit.

    Parameters
    ----------
    until : float
        Years; a rate has humps of its own further on, which would use the turns up.
    """
    fits = {}
    here = (band.person_years > 0) & (band.age_from < until)
    middle = (band.age_from + band.age_to) / 2

    def fitted(kind: str, turns: int, intervals: bool) -> HingeFit:
        return fit_hinges(
            middle[here],
            band.cases[kind][here],
            band.person_years[here],
            turns=turns,
            family="poisson",
            apart_years=protocol.turns.apart_years,
            certify=intervals,
            intervals=intervals,
            calibration=0,
            seed=protocol.study.seed,
        )

    for done, kind in enumerate(("indirect", "direct")):
        progress(done, 2)
        tried = [fitted(kind, turns, False) for turns in range(protocol.turns.most + 1)]
        fits[kind] = fitted(kind, min(range(len(tried)), key=lambda turns: tried[turns].bic), True)
    progress(2, 2)
    return RateBends(fits, until)


def window(turns: Sequence[Turn], oldest: float) -> float:
    """Age up to which rates are searched for the share's first upward turn: the second turn after it, or the oldest."""
    first = next((place for place, turn in enumerate(turns) if turn.sign > 0), None)
    return turns[first + 2].age if first is not None and first + 2 < len(turns) else oldest


def standardised(band: RateBand, protocol: Protocol, kind: str) -> StandardisedRate:
    """Standardise a type's rate to the protocol's standard population."""
    plan = _plan(protocol)
    # ages beyond the population's last band have neither cases nor weight
    standard = {
        first: weight for first, weight in STANDARDS[plan.standard].items() if first < band.age_to.max()
    }
    firsts = [first for first in standard if first in set(band.age_from.astype(int).tolist())]
    place = np.searchsorted(np.array(firsts), band.age_from, side="right") - 1
    cases = np.bincount(place, band.cases[kind], minlength=len(firsts))
    person_years = np.bincount(place, band.person_years, minlength=len(firsts))
    return standardise(cases, person_years, standard_weights(standard, firsts))


def rates_part(
    tally: PatternTally,
    population: pa.Table,
    protocol: Protocol,
    turns: Sequence[Turn],
    progress: Callable[[int, int], None],
) -> tuple[Part, tuple[Finding, ...]]:
    """Tell the rates by age and sex, and which type's rate bends.

    Parameters
    ----------
    tally : PatternTally
        Counted by `DIMENSIONS`.
    population : pyarrow.Table
        sex, age_from, age_to, person_years.
    protocol : Protocol
    turns : sequence of Turn
        The share's turns.
    """
    plan = _plan(protocol)
    bands = {sex: bands_of(tally, population, protocol, sex) for sex in ("male", "female")}
    first = next((turn for turn in turns if turn.sign > 0), None)
    bent = bends(
        bands[protocol.counting.sex], protocol, window(turns, float(protocol.ages.drawn_to)), progress
    )
    lines = pa.concat_tables(
        [rate_stretches(band, sex, protocol.privacy.smallest_cell) for sex, band in bands.items()]
    )
    figure = Figure(
        name="rates-by-age",
        kind="rates_by_age",
        title=wording.rates_title(),
        alt=wording.rates_alt(),
        caption=wording.rates_caption(plan.years, plan.coverage, protocol.privacy.smallest_cell),
        frames={"lines": lines},
    )
    findings, rows = [], []
    for sex, band in bands.items():
        for kind in LINES:
            n = int(band.cases[kind].sum())
            if n < protocol.privacy.smallest_cell:
                continue
            told = standardised(band, protocol, kind)
            findings.append(
                Finding(
                    id=f"rate.{sex}.{kind}",
                    estimand=wording.rate_estimand(sex, kind, plan.standard),
                    estimate=told.rate,
                    unit="per 100,000 person-years",
                    low=told.low,
                    high=told.high,
                    method=wording.rate_method(),
                    n=n,
                    events=None,
                    cells=wording.cells_of(
                        {
                            "sex": (sex,),
                            "occurrence": (protocol.counting.occurrence,),
                            "reason": protocol.counting.reasons,
                            "type": protocol.counting.direct if kind == "direct" else (kind,),
                            "operated_year": (f"{plan.years[0]}–{plan.years[1]}",),
                            "age": (f"{band.age_from.min():g}–{band.age_to.max():g} years",),
                        }
                    ),
                    sentence=f"{wording.capital(wording.who(sex))}, {kind}: {told}.",
                )
            )
            rows.append(
                (
                    wording.capital(wording.who(sex)),
                    kind,
                    wording.count(n),
                    wording.rate_cell(told.crude),
                    wording.rate_cell(told.rate, told.low, told.high),
                )
            )
    grids = (
        Grid(
            wording.rates_grid_title(),
            wording.rates_heads(),
            tuple(rows),
            wording.rates_note(plan.standard, "combined" in protocol.counting.direct),
            numeric=(2, 3, 4),
        ),
        _bend_grid(bent, protocol.counting.sex),
    )
    part = Part(
        id="rates",
        heading=wording.rates_heading(),
        sentence=which_bends(bent, first, plan.coverage),
        figures=(figure,),
        grids=grids,
        method=wording.rates_method(),
        cannot=wording.rates_cannot(plan.coverage),
    )
    return part, tuple(findings)


def which_bends(bent: RateBends, first_up: Turn | None, coverage: float) -> str:
    """Say which type's rate has a turn that could be the share's first upward turn: their intervals overlap."""
    if first_up is None:
        return wording.no_turn_up()
    if not first_up.identified:
        return wording.turn_not_identified(first_up.age)
    told = {}
    for kind, fit in bent.fits.items():
        # the share turns up when direct rates do, or when indirect rates turn down
        could = [
            turn for turn in fit.turns if turn.identified and turn.sign == (1 if kind == "direct" else -1)
        ]
        near = [turn for turn in could if _overlap(turn, first_up)]
        nearest = min(near, key=lambda turn: abs(turn.age - first_up.age), default=None)
        told[kind] = (nearest.age, *nearest.interval) if nearest else None
    return wording.which_bends(first_up.age, told["direct"], told["indirect"], coverage)


def _overlap(one: Turn, other: Turn) -> bool:
    return any(a <= d and b >= c for a, b in one.stretches for c, d in other.stretches)


def _bend_grid(bent: RateBends, sex: str) -> Grid:
    rows = []
    for kind, fit in bent.fits.items():
        if not fit.turns:
            rows.append((kind, wording.no_turn()))
        for place, turn in enumerate(fit.turns, start=1):
            rows.append(
                (kind, wording.turn_cell(place, turn.sign, turn.age, turn.stretches, bool(turn.identified)))
            )
    return Grid(wording.bends_title(sex), wording.bends_heads(), tuple(rows), wording.bends_note(bent.until))
