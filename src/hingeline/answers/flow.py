"""The flow of records: from rows of the exports to the cases that the headline rests on.

Intake's own tally and the tally of patterns come in; the part of the answer with its diagram goes out. Groins
read = cases + set aside, always.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

import pyarrow as pa

from .. import wording
from ..counts import PatternTally
from ..protocol import Protocol
from .findings import Figure, Finding, Grid, Part
from .headline import HeadlineRows

MOST_REASONS = 6
"""Reasons told one by one in the diagram; the rest are told together, and all stand in the table."""


def flow_part(
    flow: pa.Table, tally: PatternTally, data: HeadlineRows, protocol: Protocol
) -> tuple[Part, tuple[Finding, ...]]:
    """Tell where every row and groin went.

    Parameters
    ----------
    flow : pyarrow.Table
        Intake's: hospital, step, reason, rows, groins.
    tally : PatternTally
        All cases.
    data : HeadlineRows
    protocol : Protocol

    Returns
    -------
    Part, tuple of Finding
    """
    steps: Counter[str] = Counter()
    rows: Counter[str] = Counter()
    aside: Counter[str] = Counter()
    visits: Counter[str] = Counter()
    for line in flow.to_pylist():
        steps[line["step"]] += line["groins"]
        rows[line["step"]] += line["rows"]
        if line["step"] == "set aside":
            aside[line["reason"]] += line["groins"]
        if line["step"] == "visits set aside":
            visits[line["reason"]] += line["rows"]
    read, cases, out = steps["groins read"], steps["cases"], steps["set aside"]
    if read != cases + out or cases != tally.n_groins:
        raise AssertionError(f"groins are lost between intake and tally: {dict(steps)}, {tally.n_groins}")
    least = protocol.privacy.smallest_cell
    aside = Counter(without_few(aside, least))
    outside = _outside(tally, data, protocol)
    boxes = [
        _box("rows", wording.flow_rows(), wording.count(rows["rows read"]), 0),
        _box("read", wording.flow_read(), wording.count(read), 1, of="rows"),
        _box(
            "aside", wording.flow_aside(dict(aside), MOST_REASONS, least), wording.count(out), 1, "read", True
        ),
        _box("cases", wording.flow_cases(), wording.count(cases), 2, of="read"),
    ]
    boxes += [
        _box(
            "outside",
            wording.flow_outside({k: v for k, v in outside.items() if v}, least),
            wording.count(sum(outside.values())),
            2,
            "cases",
            True,
        ),
        _box(
            "headline",
            wording.flow_headline(protocol.counting.occurrence, wording.who(protocol.counting.sex)),
            wording.count(data.rows.n_groins),
            3,
            of="cases",
        ),
    ]
    boxes += _visits(rows, without_few(visits, least), least)
    sentence = wording.accounting(read, cases, out)
    figure = Figure(
        name="flow",
        kind="flow",
        title=wording.flow_title(),
        alt=wording.flow_alt(rows["rows read"], read, out, cases, data.rows.n_groins),
        caption=" ".join(
            [wording.flow_caption(), *([wording.flow_visits_caption()] if rows["visits read"] else [])]
        ),
        frames={"boxes": pa.Table.from_pylist(boxes)},
    )
    finding = Finding(
        id="records.cases",
        estimand="groins that became cases",
        estimate=float(cases),
        unit="cases",
        low=float("nan"),
        high=float("nan"),
        method="count",
        n=read,
        events=None,
        cells="all",
        sentence=sentence,
    )
    part = Part(
        id="records",
        heading=wording.flow_heading(),
        sentence=sentence,
        figures=(figure,),
        grids=(_by_hospital(flow, protocol, least), _by_reason(aside, least)),
        method=wording.flow_method(),
        operations=False,
    )
    return part, (finding,)


def without_few(reasons: Mapping[str, int], least: int) -> dict[str, int]:
    """Put the smallest counts together until none is small, so that none can be had by subtraction."""
    ordered = sorted(reasons.items(), key=lambda item: (-item[1], item[0]))
    small = [item for item in ordered if 0 < item[1] < least]
    kept = [item for item in ordered if not 0 < item[1] < least]
    while small and sum(n for _, n in small) < least and kept:
        small.append(kept.pop())
    if len(small) < 2:
        return dict(ordered)
    return {**dict(kept), wording.other_reasons(): sum(n for _, n in small)}


def _visits(rows: Counter[str], aside: Mapping[str, int], least: int) -> list[dict[str, object]]:
    """Boxes of the visits, under those of the operations; none where no hospital has visits."""
    read, out = rows["visits read"], rows["visits set aside"]
    if not read:
        return []
    told = wording.flow_aside(dict(aside), MOST_REASONS, least)
    return [
        _box("visits", wording.flow_visits(), wording.count(read), 4),
        _box("visits aside", told, wording.few(out, least), 4, "visits", True),
        _box(
            "visits joined",
            wording.flow_visits_joined(),
            # read less joined would give a small number set aside away
            wording.count(rows["visits joined"]) if not 0 < out < least else wording.not_told(),
            5,
            of="visits",
        ),
    ]


def _box(id: str, label: str, n: str, row: int, of: str = "", side: bool = False) -> dict[str, object]:
    return {"id": id, "label": label, "n": n, "row": row, "column": int(side), "side": side, "of": of}


def _outside(tally: PatternTally, data: HeadlineRows, protocol: Protocol) -> dict[str, int]:
    """Cases that the headline leaves out, each under the first reason that holds."""
    counting = protocol.counting
    left: Counter[str] = Counter()
    for cell in tally.cells.to_pylist():
        if cell["sex"] != counting.sex:
            left[wording.who("female" if counting.sex == "male" else "male")] += cell["n"]
        elif cell["reason"] not in counting.reasons:
            left[wording.reason_word(cell["reason"])] += cell["n"]
        elif cell["occurrence"] != counting.occurrence:
            left[wording.occurrence_word(cell["occurrence"])] += cell["n"]
        elif cell["type"] not in counting.among:
            left[wording.type_word(cell["type"])] += cell["n"]
    if sum(left.values()) + data.rows.n_groins != tally.n_groins:
        raise AssertionError("cases are lost between the tally and the headline")
    return without_few(left, protocol.privacy.smallest_cell)


def _by_hospital(flow: pa.Table, protocol: Protocol, least: int) -> Grid:
    counted: dict[str, Counter[str]] = {h.name: Counter() for h in protocol.hospitals}
    rows: Counter[str] = Counter()
    for line in flow.to_pylist():
        counted[line["hospital"]][line["step"]] += line["groins"]
        if line["step"] == "rows read":
            rows[line["hospital"]] += line["rows"]
    # a small number set aside would stand between groins read and cases: then none of the three is told apart
    small = any(0 < steps["set aside"] < least for steps in counted.values())
    body = tuple(
        (name, wording.count(rows[name]), wording.count(steps["cases"]))
        if small
        else (
            name,
            wording.count(rows[name]),
            wording.count(steps["groins read"]),
            wording.count(steps["set aside"]),
            wording.count(steps["cases"]),
        )
        for name, steps in counted.items()
    )
    heads = wording.flow_heads(small)
    return Grid(wording.flow_grid_title(), heads, body, numeric=tuple(range(1, len(heads))))


def _by_reason(aside: Counter[str], least: int) -> Grid:
    body = tuple((reason, wording.few(n, least)) for reason, n in aside.most_common())
    return Grid(wording.aside_grid_title(), wording.aside_heads(), body, wording.aside_note(), numeric=(1,))
