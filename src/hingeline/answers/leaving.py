"""The tallies that a run leaves beside its report, in a form that may leave the hospital.

The tally of patterns comes in; small tables as CSV go out, ages joined until enough people stand in each stretch.
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
from .spans import bars_by_type, share_points, withheld_of


def leaving_tallies(tally: PatternTally, protocol: Protocol) -> dict[str, str]:
    """Make the tables that may leave.

    Returns
    -------
    dict of str to str
        File name → CSV: the direct share by age (all hospitals, each hospital, each sex), repairs by age and type, and
        what each of the two keeps back.
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
    return {
        "withheld.csv": _csv(["table", "withheld"], _withheld(tally, protocol, types, repairs)),
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
