"""The tables of the direct share: turns and slopes, crossings, the number of turns, other models, other ways to count.

Estimates on the headline cases and the tally come in, tables of ready text go out.
"""

from __future__ import annotations

import itertools
import math

from .. import wording
from ..counts import PatternTally
from ..errors import HingelineError
from ..estimates.crossing import Crossing
from ..estimates.proportion import wilson
from ..protocol import Protocol
from .findings import Grid
from .headline import ShareEstimates, headline_tally


def stretch_ends(estimates: ShareEstimates) -> list[tuple[float, float]]:
    """Return from and to, in years, of each straight stretch of the hinge fit."""
    ages = estimates.ages
    places = [float(ages[0]), *(turn.age for turn in estimates.fit.turns), float(ages[-1])]
    return list(itertools.pairwise(places))


def turn_grid(estimates: ShareEstimates) -> Grid:
    """Each stretch between turns: where it begins, and how fast the share grows in it on both scales."""
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


def crossing_grid(estimates: ShareEstimates, protocol: Protocol) -> Grid:
    """Each threshold with its crossing by hinges and by curve."""
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


def number_grid(estimates: ShareEstimates) -> Grid:
    """The number of turns by criterion, by test and by selection frequency."""
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


def beside_grid(tally: PatternTally, protocol: Protocol) -> Grid:
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


def models_grid(estimates: ShareEstimates, protocol: Protocol) -> Grid:
    """Set models that assume less, or otherwise, beside the hinges with fixed hospital levels."""
    threshold = protocol.counting.headline_threshold
    rows = [
        (wording.model_hinge(), _cell(estimates.crossing(threshold)), wording.model_hinge_note()),
        (
            wording.model_curve(),
            _cell(estimates.crossing(threshold, by="curve")),
            str(estimates.steepest),
        ),
        (
            wording.model_isotonic(),
            _age(estimates.isotonic_age(threshold), estimates),
            wording.model_isotonic_note(),
        ),
    ]
    try:
        random = estimates.random
        rows.append((wording.model_random(), _age(random.crossing(threshold), estimates), str(random)))
    except HingelineError as error:
        rows.append((wording.model_random(), wording.not_told(), error.what))
    return Grid(wording.models_title(threshold), wording.models_heads(), tuple(rows), wording.models_note())


def _cell(told: Crossing) -> str:
    return wording.crossing_cell(told.age, *told.interval, told.highest)


def _age(at: float, estimates: ShareEstimates) -> str:
    return wording.crossing_cell(at, math.nan, math.nan, estimates.ends[1])
