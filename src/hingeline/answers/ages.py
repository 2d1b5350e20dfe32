"""The ages at repair: the humps and the trough, in the pool and in each hospital.

Tallies come in, a part of the answer with its figures and findings goes out. Two humps in pooled counts may only
mean that a children's and a general hospital were pooled, and the part says how far that holds here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from .. import wording
from ..counts import PatternTally
from ..estimates.ages import AgeModes, Dip, Hump, Silverman, Trough, age_modes, dip, silverman
from ..protocol import Protocol
from ..vocabulary import TYPES
from .findings import Figure, Finding, Grid, Part
from .spans import FLOAT, PANEL_YEARS, TEXT, bars_by_type, schema_of, withheld_of

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class AgesEstimates:
    """What is estimated on the ages of all cases with the headline's reasons.

    Attributes
    ----------
    modes : AgeModes
    dip : Dip
    silverman : Silverman
        Of one hump against more.
    tally : PatternTally
    """

    modes: AgeModes
    dip: Dip
    silverman: Silverman
    tally: PatternTally


def estimate_ages(tally: PatternTally, protocol: Protocol) -> AgesEstimates:
    """Find and test the humps of the ages, all sexes and types, primary and recurrent, of the headline's reasons."""
    chosen = tally.where(reason=tuple(protocol.counting.reasons))
    edges = chosen.edges_years
    table = chosen.margin(by=["hospital", "age_bin"])
    bins = np.asarray(table["age_bin"].to_numpy(), dtype=np.int64)
    cases = np.asarray(table["n"].to_numpy(), dtype=np.int64)
    middle, width = (edges[bins] + edges[bins + 1]) / 2, edges[bins + 1] - edges[bins]
    replicates, seed = protocol.resampling.replicates, protocol.study.seed
    top = float(edges[bins.max() + 1])
    limits = {h.name: h.takes_ages for h in protocol.hospitals}
    modes = age_modes(
        middle,
        cases,
        groups=table["hospital"].to_pylist(),
        lowest=0.0,
        highest=top,
        width=width,
        limits={name: (max(0.0, low), min(top, high)) for name, (low, high) in limits.items()},
        replicates=min(replicates, 499),
        seed=seed,
    )
    pooled = np.bincount(bins, cases, minlength=chosen.n_bins).astype(np.int64)
    here = np.flatnonzero(pooled)
    middles, widths = (edges[:-1] + edges[1:]) / 2, np.diff(edges)
    tested = dip(middles[here], pooled[here], width=widths[here], replicates=199, seed=seed)
    one = silverman(
        middles[here],
        pooled[here],
        modes=1,
        lowest=0.0,
        highest=top,
        width=widths[here],
        replicates=99,
        seed=seed,
    )
    return AgesEstimates(modes, tested, one, chosen)


def ages_part(
    estimates: AgesEstimates, protocol: Protocol, *, rates: bool
) -> tuple[Part, tuple[Finding, ...]]:
    """Tell the humps, with their pictures.

    Parameters
    ----------
    estimates : AgesEstimates
    protocol : Protocol
    rates : bool
        Whether there are denominators, so that another part tells rates.
    """
    modes = estimates.modes
    whole = {h.name for h in protocol.hospitals if h.setting == "all ages"}
    sentence = wording.two_humps(
        [(hump.age, hump.low, hump.high) for hump in modes.humps],
        [(trough.age, trough.low, trough.high) for trough in modes.troughs],
        [name for name in modes.groups_with_all_humps if name in whole],
        len(modes.groups),
        rates,
    )
    findings = tuple(_findings(estimates, protocol, sentence))
    part = Part(
        id="ages",
        heading=wording.ages_heading(),
        sentence=sentence,
        figures=(_pooled(estimates, protocol), _by_hospital(estimates, protocol)),
        grids=(_grid(estimates, protocol.privacy.smallest_cell),),
        method=wording.ages_method(str(estimates.dip), str(estimates.silverman), modes.bandwidth),
        cannot=wording.ages_cannot(rates),
    )
    return part, findings


def _findings(estimates: AgesEstimates, protocol: Protocol, sentence: str) -> list[Finding]:
    found = []
    for kind, place, one in _extremes(estimates.modes):
        found.append(
            Finding(
                id=f"{kind}.{place}",
                estimand=wording.hump_estimand(kind),
                estimate=one.age,
                unit="years",
                # a hump at the very edge of the ages does not move in resamples: that is no interval
                low=one.low if one.high > one.low else float("nan"),
                high=one.high if one.high > one.low else float("nan"),
                method=wording.hump_method(),
                n=int(estimates.modes.pooled.n),
                events=None,
                cells=wording.cells_of({"reason": protocol.counting.reasons}),
                sentence=wording.hump_sentence(kind, one.age, one.low, one.high),
                seed=protocol.study.seed,
                replicates=min(protocol.resampling.replicates, 499),
            )
        )
    return found


def _extremes(modes: AgeModes) -> list[tuple[str, int, Hump | Trough]]:
    humps: list[tuple[str, int, Hump | Trough]] = [("hump", i, h) for i, h in enumerate(modes.humps, start=1)]
    return humps + [("trough", i, t) for i, t in enumerate(modes.troughs, start=1)]


def _pooled(estimates: AgesEstimates, protocol: Protocol) -> Figure:
    modes = estimates.modes
    bars = bars_by_type(estimates.tally, TYPES, protocol.privacy.smallest_cell)
    marks = [
        {
            "what": kind,
            "age": one.age,
            "height": one.height * modes.pooled.n,
            "label": wording.hump_label(kind, one.age, one.low, one.high),
        }
        for kind, _, one in _extremes(modes)
    ]
    return Figure(
        name="repairs-by-age",
        kind="repairs_by_age",
        title=wording.repairs_title(),
        alt=wording.repairs_alt(int(modes.pooled.n), str(modes)),
        caption=f"{wording.repairs_caption(protocol.privacy.smallest_cell)} {_withheld(estimates, bars, protocol)}",
        frames={
            "bars": bars.append_column("sex", pa.array(["all"] * bars.num_rows)),
            "marks": pa.Table.from_pylist(marks, schema=_MARKS),
        },
    )


def _withheld(estimates: AgesEstimates, bars: pa.Table, protocol: Protocol) -> str:
    least = protocol.privacy.smallest_cell
    kept_back = withheld_of(estimates.tally, TYPES, bars)
    return wording.withheld(
        wording.from_this_picture(),
        kept_back.joined,
        kept_back.types,
        kept_back.groins,
        least,
    )


_MARKS = schema_of(what=TEXT, age=FLOAT, height=FLOAT, label=TEXT)


def _types_told(tally: PatternTally, protocol: Protocol) -> tuple[str, ...]:
    """Types that may be told by hospital: those of which no hospital holds so few that the pool would give it away."""
    least = protocol.privacy.smallest_cell
    told = []
    for kind in TYPES:
        chosen = tally.where(type=kind)
        held = [chosen.where(hospital=name).n_patients for name in tally.values("hospital")]
        hidden = sum(n for n in held if n < least)
        consented = protocol.privacy.events_may_leave and (hidden == 0 or hidden >= least)
        if consented or all(n == 0 or n >= least for n in held):
            told.append(kind)
    return tuple(told)


def _by_hospital(estimates: AgesEstimates, protocol: Protocol) -> Figure:
    least = protocol.privacy.smallest_cell
    types = _types_told(estimates.tally, protocol)
    tables = []
    for hospital in protocol.hospitals:
        if hospital.name not in estimates.tally.values("hospital"):
            continue
        bars = bars_by_type(estimates.tally.where(hospital=hospital.name), types, least, PANEL_YEARS)
        tables.append(
            bars.append_column("hospital", pa.array([hospital.name] * bars.num_rows)).append_column(
                "setting", pa.array([wording.setting(hospital.setting)] * bars.num_rows)
            )
        )
    limits = pa.table(
        {
            "hospital": [h.name for h in protocol.hospitals],
            "takes_from": [h.takes_ages[0] for h in protocol.hospitals],
            "takes_to": [h.takes_ages[1] for h in protocol.hospitals],
        }
    )
    return Figure(
        name="repairs-by-hospital",
        kind="repairs_by_hospital",
        title=wording.hospitals_title(),
        alt=wording.hospitals_alt([h.name for h in protocol.hospitals]),
        caption=wording.hospitals_caption(least),
        frames={"bars": pa.concat_tables(tables), "limits": limits},
    )


def _grid(estimates: AgesEstimates, least: int) -> Grid:
    modes = estimates.modes
    rows = []
    for one in (modes.pooled, *modes.groups):
        rows.append(
            (
                one.group or wording.all_hospitals(),
                wording.few(int(one.n), least),
                wording.ages_listed([(h.age, h.low, h.high) for h in one.humps]),
                wording.ages_listed([(t.age, t.low, t.high) for t in one.troughs]),
            )
        )
    return Grid(wording.humps_grid_title(), wording.humps_heads(), tuple(rows), numeric=(1,))
