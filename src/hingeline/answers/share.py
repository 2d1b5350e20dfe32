"""The direct share by age: turns, crossings, curve and hinge, as findings, figures and sentences.

Estimates on the headline cases come in, a part of the answer goes out. Every sentence is built from a finding.
"""

from __future__ import annotations

import math

from .. import wording
from ..counts import PatternTally
from ..estimates.crossing import Crossing
from ..estimates.hinge_fit import Turn
from ..estimates.proportion import wilson
from ..protocol import Protocol
from .findings import Finding, Part
from .headline import ShareEstimates
from .share_pictures import share_pictures
from .share_tables import beside_grid, crossing_grid, models_grid, number_grid, stretch_ends, turn_grid


def share_part(
    estimates: ShareEstimates, tally: PatternTally, protocol: Protocol
) -> tuple[Part, tuple[Finding, ...]]:
    """Tell the direct share by age.

    Parameters
    ----------
    estimates : ShareEstimates
    tally : PatternTally
        All cases, for those shown beside the headline.
    protocol : Protocol

    Returns
    -------
    Part, tuple of Finding
    """
    turns = _turn_findings(estimates, protocol)
    crossings = _crossing_findings(estimates, protocol)
    overall = _overall(estimates, protocol)
    slopes = _slope_findings(estimates, protocol)
    part = Part(
        id="share",
        heading=wording.share_heading(),
        sentence=" ".join(_headline_sentences(estimates, protocol, turns, crossings)),
        figures=tuple(share_pictures(estimates, tally, protocol)),
        grids=(
            turn_grid(estimates),
            crossing_grid(estimates, protocol),
            number_grid(estimates),
            models_grid(estimates, protocol),
            beside_grid(tally, protocol),
        ),
        method=wording.share_method(
            patients=estimates.data.rows.n_patients,
            simulated=protocol.resampling.calibration,
            audit=str(estimates.boot),
            certificate=_proof(estimates),
            curve=str(estimates.curve),
            perfect=estimates.data.perfect,
        ),
        cannot=(
            *_few_replicates(protocol.resampling.replicates),
            *wording.share_cannot(protocol.population is not None, _handed_over(protocol)),
        ),
    )
    return part, (overall, *turns, *slopes, *crossings, _steepest_finding(estimates, protocol))


def _handed_over(protocol: Protocol) -> str:
    """Say where patients pass from children's to general hospitals; empty where they do not."""
    stops = [h.takes_ages[1] for h in protocol.hospitals if h.setting == "children"]
    starts = [h.takes_ages[0] for h in protocol.hospitals if h.setting == "general"]
    if not stops or not starts:
        return ""
    young, old = min(*starts, *stops), max(*starts, *stops)
    spanning = [h.name for h in protocol.hospitals if h.takes_ages[0] < young and h.takes_ages[1] > old]
    return wording.hand_over(young, old, spanning)


def _proof(estimates: ShareEstimates) -> str:
    proof = estimates.fit.certificate
    if proof is None:
        return wording.not_told()
    return wording.certificate(proof.gap, proof.boxes, proof.method, proof.proven)


def first_up(turns: tuple[Turn, ...]) -> Turn | None:
    """Return the first upward turn, or None."""
    return next((turn for turn in turns if turn.sign > 0), None)


def _cells(protocol: Protocol) -> str:
    counting = protocol.counting
    return wording.cells_of(
        {
            "sex": (counting.sex,),
            "occurrence": (counting.occurrence,),
            "reason": counting.reasons,
            "type": counting.among,
        }
    )


LEAST_REPLICATES = 100
"""Redrawn sets of patients under which limits are called rough: below it a 95% limit rests on two of them."""


def _few_replicates(replicates: int) -> tuple[str, ...]:
    return (wording.few_replicates(replicates, LEAST_REPLICATES),) if replicates < LEAST_REPLICATES else ()


def _overall(estimates: ShareEstimates, protocol: Protocol) -> Finding:
    rows = estimates.data.rows
    told = wilson(rows.n_direct, rows.n_groins)
    return Finding(
        id="share.overall",
        estimand=wording.overall_estimand(),
        estimate=told.share,
        unit="share",
        low=told.low,
        high=told.high,
        method=wording.wilson_method(),
        n=rows.n_groins,
        events=rows.n_direct,
        cells=_cells(protocol),
        sentence=wording.headline_cases(
            rows.n_direct,
            rows.n_groins,
            told.low,
            told.high,
            wording.headline_who(protocol.counting.occurrence, protocol.counting.sex),
            len(rows.hospitals),
            protocol.counting.direct,
        ),
    )


def _turn_findings(estimates: ShareEstimates, protocol: Protocol) -> tuple[Finding, ...]:
    fit, rows = estimates.fit, estimates.data.rows
    first = first_up(fit.turns)
    found = []
    for place, turn in enumerate(fit.turns, start=1):
        found.append(
            Finding(
                id=f"turn.{place}",
                estimand=wording.turn_estimand(turn.sign),
                estimate=turn.age,
                unit="years",
                low=turn.interval[0],
                high=turn.interval[1],
                method=wording.turn_method(),
                n=rows.n_groins,
                events=rows.n_direct,
                cells=_cells(protocol),
                sentence=wording.first_turn_up(turn.age, turn.stretches, fit.level)
                if turn is first and turn.identified
                else wording.turn(
                    place, turn.sign, turn.age, turn.stretches, fit.level, bool(turn.identified)
                ),
                status="told" if turn.identified else "not identified",
                level=fit.level,
                headline=turn is first,
                seed=estimates.seed,
                replicates=protocol.resampling.calibration,
            )
        )
    return tuple(found)


def _slope_findings(estimates: ShareEstimates, protocol: Protocol) -> tuple[Finding, ...]:
    fit, rows = estimates.fit, estimates.data.rows
    ends = stretch_ends(estimates)
    found = []
    for place, (odds, points) in enumerate(zip(fit.odds_per_year, fit.points_per_year, strict=True)):
        low, high = estimates.boot.interval("odds_per_year", place)
        found.append(
            Finding(
                id=f"odds.{place + 1}",
                estimand=wording.slope_estimand(*ends[place]),
                estimate=float(odds),
                unit="odds ratio per year",
                low=low,
                high=high,
                method=wording.slope_method(),
                n=rows.n_groins,
                events=rows.n_direct,
                cells=_cells(protocol),
                sentence=wording.climb(float(odds), float(points), *ends[place], low, high),
                level=estimates.boot.level,
                seed=estimates.seed,
                replicates=estimates.boot.replicates,
            )
        )
    return tuple(found)


def _crossing_findings(estimates: ShareEstimates, protocol: Protocol) -> tuple[Finding, ...]:
    rows = estimates.data.rows
    found = []
    for by in ("hinge", "curve"):
        for threshold in protocol.counting.thresholds:
            told = estimates.crossing(threshold, by=by)
            headline = by == "hinge" and threshold == protocol.counting.headline_threshold
            found.append(
                Finding(
                    id=f"crossing.{threshold:g}" if by == "hinge" else f"crossing.{threshold:g}.curve",
                    estimand=wording.crossing_estimand(threshold),
                    estimate=told.age if math.isfinite(told.age) else math.nan,
                    unit="years",
                    low=told.interval[0],
                    high=told.interval[1],
                    method=wording.crossing_method(by, told.method),
                    n=rows.n_groins,
                    events=rows.n_direct,
                    cells=_cells(protocol),
                    sentence=f"{told}.",
                    status=_status(told),
                    level=told.level,
                    headline=headline,
                    seed=estimates.seed,
                    replicates=protocol.resampling.replicates,
                )
            )
    return tuple(found)


def _steepest_finding(estimates: ShareEstimates, protocol: Protocol) -> Finding:
    told, rows = estimates.steepest, estimates.data.rows
    return Finding(
        id="steepest",
        estimand=wording.steepest_estimand(),
        estimate=told.age,
        unit="years",
        low=told.interval[0],
        high=told.interval[1],
        method=wording.steepest_method(),
        n=rows.n_groins,
        events=rows.n_direct,
        cells=_cells(protocol),
        sentence=f"{told}.",
        level=told.level,
        seed=estimates.seed,
    )


def _status(told: Crossing) -> str:
    if not told.reached:
        return "not reached"
    return "told" if all(map(math.isfinite, told.interval)) else "open"


def _headline_sentences(
    estimates: ShareEstimates, protocol: Protocol, turns: tuple[Finding, ...], crossings: tuple[Finding, ...]
) -> list[str]:
    fit = estimates.fit
    told = []
    first = first_up(fit.turns)
    bare = _without_directs(estimates)
    if first is None:
        told.append(wording.none_below(*bare) if bare else wording.no_turn_up())
    elif not first.identified:
        told.append(wording.turn_not_identified(first.age))
    else:
        told.append(wording.first_turn_up(first.age, first.stretches, fit.level))
        place = fit.turns.index(first) + 1
        told.append(
            wording.climb(
                float(fit.odds_per_year[place]),
                float(fit.points_per_year[place]),
                *stretch_ends(estimates)[place],
                *estimates.boot.interval("odds_per_year", place),
            )
        )
    headline = next(finding for finding in crossings if finding.headline)
    told.append(headline.sentence)
    by_curve = estimates.crossing(protocol.counting.headline_threshold, by="curve")
    told.append(wording.crossing_by_curve(by_curve.age, *by_curve.interval))
    others = [turn for turn in fit.turns if turn is not first]
    if others:
        told.append(
            wording.further_turns(
                [wording.further_turn(t.sign, t.age, t.stretches, bool(t.identified)) for t in others]
            )
        )
    return told


def _without_directs(estimates: ShareEstimates) -> tuple[int, float] | None:
    """How many groins lie below the youngest age with a direct hernia, and that age, when they are enough to tell."""
    data = estimates.data
    rows = data.rows
    youngest = float(data.age_years[rows.direct > 0].min())
    below = int((rows.total * rows.weights)[data.age_years < youngest].sum())
    return (below, youngest) if below >= ENOUGH_BELOW else None


ENOUGH_BELOW = 60
"""Groins without a direct hernia whose upper limit for the share is about 5% (rule of three)."""
