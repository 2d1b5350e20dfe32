"""The direct share by age: turns, crossings, curve and hinge, as findings, figures and sentences.

Estimates on the headline cases come in, a part of the answer goes out. Every sentence is built from a finding.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from .. import wording
from ..counts import PatternTally
from ..estimates.crossing import Crossing
from ..estimates.hinge_design import share as hinge_share
from ..estimates.hinge_fit import Turn
from ..estimates.proportion import wilson
from ..protocol import Protocol
from .findings import Figure, Finding, Grid, Part
from .headline import ShareEstimates, headline_tally
from .spans import FLOAT, TEXT, WHOLE, schema_of, share_points

Floats = NDArray[np.float64]


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
        figures=tuple(_pictures(estimates, tally, protocol)),
        grids=(
            _turn_grid(estimates),
            _crossing_grid(estimates, protocol),
            _number_grid(estimates),
            _beside_grid(tally, protocol),
        ),
        method=wording.share_method(
            patients=estimates.data.rows.n_patients,
            simulated=protocol.resampling.calibration,
            audit=str(estimates.boot),
            certificate=_proof(estimates),
            curve=str(estimates.curve),
            perfect=estimates.data.perfect,
        ),
        cannot=wording.share_cannot(protocol.population is not None, _handed_over(protocol)),
    )
    return part, (overall, *turns, *slopes, *crossings)


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


def _pictures(estimates: ShareEstimates, tally: PatternTally, protocol: Protocol) -> Iterator[Figure]:
    yield _picture(estimates, protocol)
    if protocol.privacy.events_may_leave:  # pool less hospitals would give small counts away
        yield _hospital_picture(estimates, protocol)
    yield _sex_picture(tally, protocol)


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
                sentence=wording.turn(
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


def stretch_ends(estimates: ShareEstimates) -> list[tuple[float, float]]:
    """Return from and to, in years, of each straight stretch of the hinge fit."""
    ages = estimates.ages
    places = [float(ages[0]), *(turn.age for turn in estimates.fit.turns), float(ages[-1])]
    return list(itertools.pairwise(places))


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


def _picture(estimates: ShareEstimates, protocol: Protocol) -> Figure:
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


def _turn_grid(estimates: ShareEstimates) -> Grid:
    fit, boot = estimates.fit, estimates.boot
    rows = []
    ends = stretch_ends(estimates)
    for place, (low, high) in enumerate(ends):
        turn = fit.turns[place - 1] if place else None
        rows.append(
            (
                wording.turn_cell(place, turn.sign, turn.age, turn.stretches, bool(turn.identified))
                if turn
                else wording.youngest(low),
                wording.interval(low, high),
                wording.odds_cell(float(fit.odds_per_year[place]), *boot.interval("odds_per_year", place)),
                wording.points_cell(float(fit.points_per_year[place])),
            )
        )
    return Grid(
        wording.turn_grid_title(), wording.turn_heads(), tuple(rows), wording.turn_note(), numeric=(2, 3)
    )


def _crossing_grid(estimates: ShareEstimates, protocol: Protocol) -> Grid:
    rows = []
    for threshold in protocol.counting.thresholds:
        hinge, curve = estimates.crossing(threshold), estimates.crossing(threshold, by="curve")
        rows.append(
            (
                wording.threshold_cell(threshold),
                wording.crossing_cell(hinge.age, *hinge.interval, hinge.highest),
                wording.crossing_cell(curve.age, *curve.interval, curve.highest),
            )
        )
    return Grid(wording.crossing_grid_title(), wording.crossing_heads(), tuple(rows), wording.crossing_note())


def _number_grid(estimates: ShareEstimates) -> Grid:
    table = estimates.choice.to_frame().to_pylist()
    rows = tuple(
        (
            str(line["turns"]),
            wording.number(line["loglik"]),
            wording.number(line["bic"]),
            wording.p_of_ratio(
                line["ratio_to_next"], line["p_to_next"], estimates.choice.replicates, line["p_simulated"]
            ),
            wording.percent(line["frequency"], 0),
        )
        for line in table
    )
    return Grid(
        wording.number_grid_title(), wording.number_heads(), rows, f"{estimates.choice}", numeric=(1, 2, 3, 4)
    )


def _beside_grid(tally: PatternTally, protocol: Protocol) -> Grid:
    """The share under other ways of counting, shown beside the headline and never instead of it."""
    counting = protocol.counting
    head = headline_tally(tally, protocol)
    other = "female" if counting.sex == "male" else "male"
    known = tuple(kind for kind in counting.among if kind != "combined")
    ways = [
        (wording.beside_headline(), head, counting.direct, counting.among),
        (wording.who(other), headline_tally(tally, protocol, sex=other), counting.direct, counting.among),
        (
            wording.beside_all_reasons(),
            tally.where(sex=counting.sex, occurrence=counting.occurrence),
            counting.direct,
            counting.among,
        ),
    ]
    if "combined" in counting.among and set(counting.direct) - {"combined"}:
        without = tuple(kind for kind in counting.direct if kind != "combined")
        ways.append((wording.beside_combined_out(), head, without, known))
        other_way = without if "combined" in counting.direct else (*counting.direct, "combined")
        ways.append(
            (wording.beside_combined_other("combined" in counting.direct), head, other_way, counting.among)
        )
    rows = []
    least = protocol.privacy.smallest_cell
    told_before: list[tuple[int, int, int]] = []
    for label, chosen, direct, among in ways:
        total = chosen.where(type=among).n_groins
        seen = chosen.where(type=direct).n_groins
        counts = (total, seen, total - seen)
        # without consent no small count is told, nor one that the rows above would give by subtraction
        small = any(0 < n < least for n in counts) or any(
            0 < abs(one - other) < least
            for before in told_before
            for one, other in zip(counts, before, strict=True)
        )
        if total == 0 or total < least or (small and not protocol.privacy.events_may_leave):
            rows.append((label, wording.not_told(), wording.not_told()))
            continue
        told_before.append(counts)
        told = wilson(seen, total)
        rows.append((label, wording.count(total), wording.share_cell(told.share, told.low, told.high)))
    return Grid(
        wording.beside_title(), wording.beside_heads(), tuple(rows), wording.beside_note(), numeric=(1, 2)
    )
