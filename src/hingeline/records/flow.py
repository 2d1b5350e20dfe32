"""The accounting of intake: from the rows of the files to cases, in counts that must balance.

Groins read = cases + groins set aside, each under one reason; rows read = rows that hold a groin + rows that
do not, each with a reason; visits read = joined + set aside, each under one reason (design, section 12). The table is
what the flow diagram is drawn from.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import pyarrow as pa

from .rule import Rule
from .source import Source

_COLUMNS: Final[list[pa.Field[Any]]] = [
    pa.field("hospital", pa.string()),
    pa.field("step", pa.string()),
    pa.field("reason", pa.string()),
    pa.field("rows", pa.int64()),
    pa.field("groins", pa.int64()),
]
FLOW_SCHEMA: Final = pa.schema(_COLUMNS)
"""``step`` is one of `STEPS`; ``reason`` is empty but for rows without a groin and for what was set aside."""

STEPS: Final = (
    "rows read",
    "rows without a groin",
    "groins read",
    "set aside",
    "cases",
    "visits read",
    "visits joined",
    "visits set aside",
)


@dataclass(frozen=True)
class Flow:
    """One hospital's way from rows to cases, in `FLOW_SCHEMA`."""

    table: pa.Table

    def assert_balanced(self, case_count: int) -> None:
        """Raise AssertionError unless every row and every groin is accounted for."""
        rows: Counter[str] = Counter()
        groins: Counter[str] = Counter()
        for line in self.table.to_pylist():
            rows[line["step"]] += line["rows"]
            groins[line["step"]] += line["groins"]
        if rows["rows read"] != rows["rows without a groin"] + rows["groins read"]:
            raise AssertionError(f"rows are lost: {dict(rows)}")
        if groins["groins read"] != groins["cases"] + groins["set aside"]:
            raise AssertionError(f"groins are lost: {dict(groins)}")
        if rows["visits read"] != rows["visits joined"] + rows["visits set aside"]:
            raise AssertionError(f"visits are lost: {dict(rows)}")
        if groins["cases"] != case_count:
            raise AssertionError(f"{groins['cases']} cases counted, {case_count} written")


def count_flow(
    database: Any,
    hospital: str,
    rules: Sequence[Rule],
    opened: Sequence[Source],
    without: Sequence[tuple[Source, Any]],
    visits: Sequence[tuple[str, str, int, int]] = (),
) -> Flow:
    """Count the way from rows to cases; `visits` are the lines of those that were joined to them.

    Each count is taken from where it arises (files, groins, broken rules, cases) and never as a remainder, so
    that the balance is a check.
    """
    other: Counter[str] = Counter()
    for source in opened:
        other["blank row"] += source.blank
        other.update(broken.why for broken in source.broken)
    for _, numbers in without:
        other["no groin on either side"] += len(numbers)
    in_files = sum(source.n_rows + source.blank + len(source.broken) for source in opened)
    _, groin_rows, groins = (_counted(database, "SELECT groin, 0 AS reason FROM found") or [(0, 0, 0)])[0]
    _, case_rows, case_count = (_counted(database, "SELECT groin, 0 AS reason FROM sound") or [(0, 0, 0)])[0]
    aside = ", ".join(str(n) for n, rule in enumerate(rules) if rule.severity == "set aside") or "NULL"
    reasons = _counted(
        database,
        "SELECT groin, first_rule AS reason FROM found JOIN (SELECT groin, min(rule) AS first_rule FROM broken "
        f"WHERE rule IN ({aside}) GROUP BY groin) USING (groin)",
    )
    lines = [("rows read", "", in_files, 0)]
    lines += [("rows without a groin", why, number, 0) for why, number in other.items() if number]
    lines += [("groins read", "", groin_rows, groins)]
    lines += [("set aside", rules[reason].name, number, of) for reason, number, of in reasons]
    lines += [("cases", "", case_rows, case_count)]
    lines += visits
    columns = zip(*[(hospital, *line) for line in lines], strict=True)
    return Flow(pa.table([list(column) for column in columns], schema=FLOW_SCHEMA))


def _counted(database: Any, query: str) -> list[tuple[int, int, int]]:
    """Count rows of the files and groins of a query of ``reason`` and ``groin``, in the reasons' order.

    The last bit of a groin's number is its side and the rest its row, so rows are counted as set bits of a word for
    each 32 of them: a set of all rows would not fit into memory with tens of millions.
    """
    counted: list[tuple[int, int, int]] = database.execute(
        "SELECT reason, coalesce(sum(bit_count(bits)), 0)::BIGINT, coalesce(sum(groins), 0)::BIGINT FROM ("
        "SELECT reason, bit_or(1::BIGINT << ((groin >> 1) & 31)) AS bits, count(*) AS groins "
        f"FROM ({query}) GROUP BY reason, groin >> 6) GROUP BY reason ORDER BY reason"
    ).fetchall()
    return counted
