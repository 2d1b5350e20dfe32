"""Errors planted among invented groins: clean rows come in, rows with known faults and their list go out.

Each fault is a copy of a sound row under a new patient key (but for repeats, which keep it), moved by some days, so
that the sound rows stay whole and the truth file can name every fault by its rule. Where intake keeps the copy as a
case, the copy is a woman's, who is outside the headline.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from hingeline.invented.faults import EACH, Fault, Slips
from hingeline.invented.note_told import told_of
from hingeline.invented.outcomes import Rows, join, later_than, take
from hingeline.invented.patients import LAST_DAY
from hingeline.invented.plans import Plan, plans
from hingeline.invented.remarks import remark

APART_DAYS: Final = 400
"""From the last visit of a groin to a later operation that is planted."""

MOVED: Final = ("born_on", "operated_on", "followed_until", "other_groin_on", "died_on")


def plant(
    rows: Rows, fields: frozenset[str], slips: Slips, generator: np.random.Generator
) -> tuple[Rows, list[Fault]]:
    """Add faults to one hospital's rows.

    Parameters
    ----------
    rows : Rows
        Sound groins.
    fields : frozenset of str
        What its legend reads of an operation, so that only faults are planted that it can commit.
    slips : Slips
        How its faults look.
    generator : numpy.random.Generator
        Of the faults alone.

    Returns
    -------
    rows : Rows
        The sound rows, then the faulty ones.
    faults : list of Fault
    """
    planned = plans(fields, slips)
    sources = _sources(rows, planned, generator)
    faults: list[Fault] = []
    noted = "note" in fields and "type" not in fields
    next_patient, moved = int(rows["patient"].max()) + 1, 0
    for plan, chosen in zip(planned, sources, strict=True):
        if len(chosen) < EACH:
            continue  # too few groins to choose from
        if plan.pair:
            chosen = chosen[:1] * EACH
        copies = take(rows, np.array(chosen, dtype=np.int64))
        if plan.in_place:
            for name, values in plan.change(copies).items():
                rows[name][chosen] = values
            faults += [Fault(index, plan.rule, plan.field) for index in chosen]
            continue
        apart = np.zeros(EACH, dtype=np.int64) if plan.pair else np.arange(EACH)
        if plan.new_patient:
            copies["patient"] = next_patient + apart
            next_patient += EACH
        if plan.moved:
            back = -(moved + 1 + apart)
            moved += EACH
            copies |= {name: later_than(copies[name], back) for name in MOVED}
        copies |= plan.change(copies)
        if noted:
            # Plain notes, so that nothing but the fault is wrong with a row, nor with the one that it repeats.
            copies["note"] = np.array([remark(told) for told in told_of(copies)], dtype=object)
            if not plan.moved:
                rows["note"][chosen] = [remark(told) for told in told_of(take(rows, np.array(chosen)))]
        for j in range(EACH):
            index = len(rows["side"]) + j
            raw = plan.raw(copies, j, slips)
            cell = plan.cell or plan.field
            faults.append(Fault(index, plan.rule, plan.field, raw, cell, plan.extra))
            if plan.twin:
                faults.append(Fault(chosen[j], plan.rule, plan.field))
        rows = join(rows, copies)
    return rows, faults


def _sources(rows: Rows, planned: Sequence[Plan], generator: np.random.Generator) -> list[list[int]]:
    """Rows to copy for each plan: different patients with one plain operation, for repeats each used once."""
    alone = np.bincount(rows["patient"])[rows["patient"]] == 1
    plain = (rows["reason"] == "hernia") & (rows["type"] != "unknown") & (rows["occurrence"] == "primary")
    plain &= np.isnat(rows["recurred_on"]) & np.isnat(rows["other_groin_on"])
    followed = ~np.isnat(rows["followed_until"])
    early = rows["operated_on"] > rows["operated_on"].min() + np.timedelta64(200, "D")
    found = alone & plain & followed & early & (rows["type"] != "femoral")
    again = later_than(np.where(followed, rows["followed_until"], rows["operated_on"]), APART_DAYS) < LAST_DAY
    women = found & ~rows["male"]
    used: set[int] = set()
    chosen: list[list[int]] = []
    for plan in planned:
        if plan.in_place:
            chosen.append(generator.permutation(_later_operations(rows)).tolist()[:EACH])
            continue
        pools = (women, found) if plan.extra else (found,)
        pools = tuple(pool & again & np.isnat(rows["died_on"]) if plan.again else pool for pool in pools)
        places = [generator.permutation(np.flatnonzero(pool)).tolist() for pool in pools]
        if not plan.moved:
            places = [[place for place in some if place not in used] for some in places]
        picked: list[int] = next((some for some in places if len(some) >= EACH), [])[:EACH]
        if not plan.moved:
            used.update(picked)
        chosen.append(picked)
    return chosen


def _later_operations(rows: Rows) -> list[int]:
    """Operations of a groin that was operated here before, for a hernia both times."""
    first: dict[tuple[int, str], object] = {}
    later = []
    for i in np.argsort(rows["operated_on"], kind="stable").tolist():
        groin = (int(rows["patient"][i]), str(rows["side"][i]))
        if rows["reason"][i] == "hernia":
            if groin in first and first[groin] != rows["operated_on"][i]:
                later.append(i)
            first.setdefault(groin, rows["operated_on"][i])
    return later
