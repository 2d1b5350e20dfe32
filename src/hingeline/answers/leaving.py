"""The tallies that a run leaves beside its report, in a form that may leave the hospital.

The tally of patterns and the follow-up come in; small tables as CSV go out, ages joined until enough people stand in
each stretch.
Counts by hospital leave only with the data officer's consent: the pool less the others would give small ones away.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

import pyarrow as pa

from .. import wording
from ..counts import PatternTally
from ..protocol import Protocol
from ..vocabulary import TYPES
from .headline import headline_tally
from .outcome_cells import leaving_of
from .outcomes import OutcomeTallies
from .recurrence_rows import REPAIRS, grouped, headline_of
from .spans import bars_by_type, share_points, withheld_of

RECURRENCE = "recurrence.csv"


def leaving_tallies(
    tally: PatternTally, protocol: Protocol, outcomes: OutcomeTallies | None = None
) -> dict[str, str]:
    """Make the tables that may leave.

    Parameters
    ----------
    tally : PatternTally
    protocol : Protocol
    outcomes : OutcomeTallies, optional
        With them the table of recurrence is made.

    Returns
    -------
    dict of str to str
        File name → CSV: the direct share by age (all hospitals, each hospital, each sex), repairs by age and type,
        recurrence by repair and year, and what each of them keeps back.
    """
    counting, privacy = protocol.counting, protocol.privacy

    def points(chosen: PatternTally) -> pa.Table:
        return share_points(
            chosen, counting.direct, counting.among, privacy.smallest_cell, privacy.events_may_leave
        )

    head = headline_tally(tally, protocol)
    shares: list[tuple[str, str, pa.Table]] = [("all", counting.sex, points(head))]
    if privacy.events_may_leave:  # pool less hospitals would give small counts away
        shares += [
            (name, counting.sex, points(head.where(hospital=name))) for name in head.values("hospital")
        ]
    other = "female" if counting.sex == "male" else "male"
    shares.append(("all", other, points(headline_tally(tally, protocol, sex=other))))
    # without consent types are left out: set against the shares of one sex they would give the other's away
    types = TYPES if privacy.events_may_leave else ()
    repairs = bars_by_type(tally.where(reason=tuple(counting.reasons)), types, privacy.smallest_cell)
    kept_back = _withheld(tally, protocol, types, repairs)
    followed: dict[str, str] = {}
    if outcomes is not None:
        heads = ["repair", "year", "groins", "followed", "at_risk", "events"]
        followed[RECURRENCE] = _csv(heads, _recurrence(outcomes, protocol))
        told = wording.recurrence_file_whole if privacy.events_may_leave else wording.recurrence_file_consent
        kept_back.append([RECURRENCE, told(RECURRENCE)])
    return {
        "withheld.csv": _csv(["table", "withheld"], kept_back),
        **followed,
        "direct-share.csv": _csv(
            ["hospital", "sex", "age_from", "age_to", "groins", "direct"],
            [
                [hospital, sex, row["age_from"], row["age_to"], row["n"], row["direct"]]
                for hospital, sex, table in shares
                for row in table.to_pylist()
            ],
        ),
        "repairs.csv": _csv(
            ["type", "age_from", "age_to", "groins"],
            [[row["type"], row["age_from"], row["age_to"], row["n"]] for row in repairs.to_pylist()],
        ),
    }


def _recurrence(outcomes: OutcomeTallies, protocol: Protocol) -> list[list[object]]:
    """Each repair's groins by whole year: those still followed, and recurrences by then as far as they may be told."""
    leaving, horizons = leaving_of(protocol), protocol.outcomes.horizons_years
    rows: list[list[object]] = []
    for one in grouped(headline_of(outcomes.recurrence, protocol), protocol, "repair", REPAIRS):
        if not one.followed or one.people < leaving.least:
            continue
        told = one.told_years(leaving, horizons)
        for year in range(int(max(horizons)) + 1):
            left = round(float(one.curve.at_risk_at(year)[0]))
            so_far = one.events_by(year)
            may = leaving.consent or float(year) in told or (year == 0 and not so_far)
            events: object = so_far if may else ""
            at_risk: object = left if left == 0 or left >= leaving.least else ""
            rows.append([one.name, year, one.groins, one.rows.n_groins, at_risk, events])
    return rows


def _withheld(
    tally: PatternTally, protocol: Protocol, types: Sequence[str], repairs: pa.Table
) -> list[list[object]]:
    """Say in words what the tables keep back."""
    least = protocol.privacy.smallest_cell
    told: list[list[object]] = []
    if not protocol.privacy.events_may_leave:
        told.append(
            ["direct-share.csv", wording.hospitals_need_consent(wording.from_table("direct-share.csv"))]
        )
    name = "repairs.csv"
    if not types:
        return [*told, [name, wording.types_need_consent(wording.from_table(name))]]
    kept_back = withheld_of(tally.where(reason=tuple(protocol.counting.reasons)), types, repairs)
    sentence = wording.withheld(
        wording.from_table(name), kept_back.joined, kept_back.types, kept_back.groins, least
    )
    return [*told, [name, sentence]]


def _csv(heads: list[str], rows: list[list[object]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(heads)
    writer.writerows([[_plain(cell) for cell in row] for row in rows])
    return text.getvalue()


def _plain(cell: object) -> object:
    """Keep a spreadsheet from taking text for a formula."""
    return f"'{cell}" if isinstance(cell, str) and cell[:1] in {"=", "+", "-", "@", "\t", "\r"} else cell
