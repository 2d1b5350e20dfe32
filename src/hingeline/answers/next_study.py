"""The study that would settle it: what was seen here comes in, sizes and a sentence for a protocol go out.

The risks assumed are those of `one_more_arms`, the sizes are `estimates.size`'s; loss and likeness within a patient
are those seen here.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from .. import wording
from ..errors import HingelineError
from ..estimates.followup import survival
from ..estimates.size import Allowance, Size, size_noninferiority, size_two_proportions
from ..protocol import Protocol
from .findings import Figure, Finding, Grid, Part
from .one_more_arms import Arm, Pair, main_pair

if TYPE_CHECKING:
    from .outcomes import OutcomeTallies

POWERS = (0.8, 0.9)
"""The first is the one that is told in the sentence and drawn (common practice, no source)."""
RISKS = (0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0)
"""Multiples of the risk seen here at which sizes are drawn."""
MARGINS = (0.5, 1.0, 1.5)
"""Multiples of the protocol's margin that have a line each."""
WITHIN_YEARS = (1.0, 0.5)
"""Half-widths of a crossing that are sized."""


@dataclass(frozen=True)
class Assumed:
    """What the next study is assumed to be like.

    Attributes
    ----------
    risk : float
        Of both repairs.
    told_from : {"reference", "both", "limit"}
    allow : Allowance
    """

    risk: float
    told_from: str
    allow: Allowance


def size_part(tallies: OutcomeTallies, protocol: Protocol) -> tuple[Part, tuple[Finding, ...]]:
    """Tell how large a study would have to be to settle a comparison of repairs.

    Parameters
    ----------
    tallies : OutcomeTallies
    protocol : Protocol

    Returns
    -------
    Part, tuple of Finding
        Where no size can be told the sentence says why; `with_crossing` adds what the share needs.
    """
    pair = main_pair(tallies.recurrence, protocol)
    sentences, findings = [], []
    figures: tuple[Figure, ...] = ()
    grids: tuple[Grid, ...] = ()
    try:
        if pair.why:
            sentences.append(wording.next_not_told(wording.next_nothing()))
        else:
            assumed = assumed_of(pair, protocol.outcomes.headline_years)
            size = as_good(assumed, protocol.contrast.margin)
            first, second = (arm.repair for arm in pair.arms)
            sentences.append(wording.next_as_good(first, second, size.sentence))
            figures = (_figure(pair, assumed, size, protocol),)
            grids = (_grid(pair, assumed, protocol),)
            findings += _findings(pair, assumed, size, protocol)
    except HingelineError as error:
        sentences.append(wording.next_not_told(error.what))
    part = Part(
        id="next-study",
        heading=wording.next_heading(),
        sentence=" ".join(sentences),
        figures=figures,
        grids=grids,
        method=wording.next_method() if findings else "",
        cannot=wording.next_cannot() if findings else (),
        leads=False,
    )
    return part, tuple(findings)


def with_crossing(
    parts: Sequence[Part], share: Sequence[Finding], protocol: Protocol
) -> tuple[tuple[Part, ...], tuple[Finding, ...]]:
    """Add to the part on the next study how many groins would know the headline's crossing better.

    Parameters
    ----------
    parts : sequence of Part
        Of the outcomes.
    share : sequence of Finding
        Of the direct share, the crossing among them.
    protocol : Protocol

    Returns
    -------
    tuple of Part, tuple of Finding
        All parts, and the finding that is new; none where the crossing has no two limits.
    """
    threshold = protocol.counting.headline_threshold
    crossing = next((one for one in share if one.id == f"crossing.{threshold:g}"), None)
    told = _crossing(crossing, threshold)
    if told is None:
        return tuple(parts), ()
    changed = [
        replace(
            part,
            sentence=f"{part.sentence} {told.sentence}",
            method=wording.next_method(),
            cannot=wording.next_cannot(),
        )
        if part.id == "next-study"
        else part
        for part in parts
    ]
    return tuple(changed), (told,)


def assumed_of(pair: Pair, horizon_years: float) -> Assumed:
    """Take risk, loss and likeness from what was seen of two repairs."""
    reference = pair.arms[1]
    events, worth = sum(arm.events for arm in pair.arms), sum(arm.worth for arm in pair.arms)
    groins, followed = sum(arm.groins for arm in pair.arms), sum(arm.followed for arm in pair.arms)
    if reference.events:
        risk, told_from = reference.events / reference.worth, "reference"
    elif events:
        risk, told_from = events / worth, "both"
    else:  # exact one-sided limit of nought
        risk, told_from = -math.expm1(math.log(0.05) / worth), "limit"
    people = sum(arm.people for arm in pair.arms)
    both = min(max(followed / people - 1, 0.0), 1.0)
    likeness = likeness_of(pair.arms, both, horizon_years)
    lost = min(max(1 - followed / groins, 0.0), 0.99)
    return Assumed(
        min(risk, 0.99), told_from, Allowance(lost=lost, bilateral=both, groin_correlation=likeness)
    )


def likeness_of(arms: tuple[Arm, ...], both: float, horizon_years: float) -> float:
    """How alike two groins of one patient fare: what standard errors over patients add to those over groins.

    Parameters
    ----------
    arms : tuple of Arm
    both : float
        Share of patients with both groins.
    horizon_years : float

    Returns
    -------
    float
        A correlation from 0 to 1; 0 where it cannot be told.
    """
    if both <= 0 or any(arm.rows.clusters is None for arm in arms) or not sum(arm.events for arm in arms):
        return 0.0
    rest = [arm.rows.arrays() for arm in arms]
    shift = 1 + int(np.max(rest[0]["clusters"], initial=0))
    rest[1]["clusters"] = rest[1]["clusters"] + shift
    joined: dict[str, Any] = {name: np.concatenate([one[name] for one in rest]) for name in rest[0]}
    curve = survival(**joined)
    place = int(np.searchsorted(curve.days, horizon_years * 365.25, side="right")) - 1
    if place < 0 or curve.robust_se is None or not curve.se[place] > 0:
        return 0.0
    effect = float((curve.robust_se[place] / curve.se[place]) ** 2)
    return min(max((effect - 1) * (1 + both) / (2 * both), 0.0), 1.0)


def as_good(assumed: Assumed, margin: float, power: float = POWERS[0]) -> Size:
    """Size a study that shows one repair not worse than the other, both having the risk assumed."""
    return size_noninferiority(assumed.risk, assumed.risk, margin, power=power, allow=assumed.allow)


def differ(pair: Pair, assumed: Assumed, power: float = POWERS[0]) -> Size | None:
    """Size a study that shows the difference seen here; None where there is none, or a risk is nought."""
    risks = [arm.events / arm.worth for arm in pair.arms]
    try:
        return size_two_proportions(risks[0], risks[1], power=power, allow=assumed.allow)
    except HingelineError:
        return None


def _figure(pair: Pair, assumed: Assumed, size: Size, protocol: Protocol) -> Figure:
    margin = protocol.contrast.margin
    rows = []
    for times in MARGINS:
        for risk in sorted({min(assumed.risk * step, 0.9) for step in RISKS}):
            try:
                total: int | None = size_noninferiority(
                    risk, risk, margin * times, power=POWERS[0], allow=assumed.allow
                ).total
            except HingelineError:
                total = None
            rows.append(
                {"assumption": 100 * risk, "size": total, "series": wording.next_series(margin * times)}
            )
    across, up = wording.next_axes(protocol.outcomes.headline_years)
    return Figure(
        name="next-study",
        kind="size",
        title=wording.next_title(*(arm.repair for arm in pair.arms)),
        alt=wording.next_alt(size.total, assumed.risk),
        caption=wording.next_caption(POWERS[0], margin),
        frames={
            "rows": pa.Table.from_pylist(rows),
            "chosen": pa.table(
                {
                    "assumption": [100 * assumed.risk],
                    "size": [size.total],
                    "label": [wording.next_chosen(size.total)],
                }
            ),
            "axes": pa.table({"x": [across], "y": [up]}),
        },
    )


def _grid(pair: Pair, assumed: Assumed, protocol: Protocol) -> Grid:
    first, second = (arm.repair for arm in pair.arms)
    rows = []
    for times in sorted({1.0, *MARGINS}, key=lambda step: (step != 1, step)):
        margin = protocol.contrast.margin * times
        for power in POWERS if times == 1 else POWERS[:1]:
            try:
                size: Size | None = as_good(assumed, margin, power)
            except HingelineError:
                size = None
            question = wording.next_question("as good", first, second, margin)
            rows.append((question, wording.next_risks(assumed.risk, assumed.risk), *_cells(size, power)))
    seen = [arm.events / arm.worth for arm in pair.arms]
    for power in POWERS:
        rows.append(
            (
                wording.next_question("shares", first, second),
                wording.next_risks(seen[0], seen[1]),
                *_cells(differ(pair, assumed, power), power),
            )
        )
    allow = assumed.allow
    note = (
        wording.next_assumed(assumed.told_from, second, protocol.outcomes.headline_years),
        wording.next_allowed(allow.lost, allow.bilateral, allow.groin_correlation),
    )
    return Grid(
        wording.next_grid_title(), wording.next_heads(), tuple(rows), " ".join(note), numeric=(2, 3, 4)
    )


def _cells(size: Size | None, power: float) -> tuple[str, str, str]:
    if size is None:
        return (wording.next_power(power), wording.next_none(), wording.nothing())
    return (wording.next_power(power), wording.count(size.per_arm[0]), wording.count(size.total))


def _findings(pair: Pair, assumed: Assumed, size: Size, protocol: Protocol) -> list[Finding]:
    first, second = (arm.repair for arm in pair.arms)
    counting, contrast, nan = protocol.counting, protocol.contrast, math.nan
    told = [("as good", size), ("shares", differ(pair, assumed))]
    return [
        Finding(
            id=f"size.{kind.replace(' ', '-')}.{first}-{second}",
            estimand=wording.next_estimand(kind, first, second),
            estimate=float(one.total),
            unit="groins",
            low=nan,
            high=nan,
            method=one.method,
            n=sum(arm.followed for arm in pair.arms),
            events=sum(arm.events for arm in pair.arms),
            cells=wording.pair_cells(
                counting.sex,
                counting.occurrence,
                counting.reasons,
                contrast.types,
                contrast.ages,
                [first, second],
            ),
            sentence=one.sentence,
        )
        for kind, one in told
        if one is not None
    ]


def _crossing(crossing: Finding | None, threshold: float) -> Finding | None:
    """Scale the crossing's interval by the root of the size; nothing where it has no two limits."""
    if crossing is None or not crossing.n:
        return None
    half = (crossing.high - crossing.low) / 2
    if not (math.isfinite(half) and half > 0 and math.isfinite(crossing.estimate)):
        return None
    wanted = [within for within in WITHIN_YEARS if within < half] or [half / 2]
    sizes = [(within, _round_up(crossing.n * (half / within) ** 2)) for within in wanted]
    return Finding(
        id=f"size.crossing.{threshold:g}",
        estimand=wording.next_crossing_estimand(threshold),
        estimate=float(4 * crossing.n),
        unit="groins",
        low=math.nan,
        high=math.nan,
        method=wording.next_crossing_method(),
        n=crossing.n,
        events=crossing.events,
        cells=crossing.cells,
        sentence=wording.next_crossing(threshold, crossing.estimate, half, crossing.n, sizes),
        seed=crossing.seed,
        replicates=crossing.replicates,
    )


def _round_up(groins: float) -> int:
    """Up to the next number of two digits: a law of the root promises no more."""
    step = 10.0 ** max(math.floor(math.log10(max(groins, 1.0))) - 1, 0)
    return round(math.ceil(groins / step) * step)
