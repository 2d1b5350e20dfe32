"""Small exports with visits kept apart, for the tests of linking."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from hingeline.records.decisions import Decision, Decisions
from hingeline.records.intake import Intake, read_hospital

from .making import CUTOFF, KEY, PLAIN_HEADER, legend, write_csv

FIELDS = """
[follow_up]
files = ["visits*"]
[follow_up.fields]
seen_on = { column = "Seen" }
side = { column = "Side", codes = { L = "left", R = "right", B = "both" } }
recurred = { column = "Rec" }
recurred_on = { column = "Rec on" }
other_groin = { column = "Other" }
died_on = { column = "Died" }
chronic_pain = { column = "Pain" }
infection = { column = "Inf" }
"""
KEYED = FIELDS + 'patient = { column = "Pat" }\n'
THREE = (
    FIELDS
    + """
born_on = { column = "Born" }
operated_on = { column = "Operated" }
sex = { column = "Sex", codes = { M = "male", F = "female" } }
"""
)

HEADER = ("Pat", "Seen", "Side", "Rec", "Rec on", "Other", "Died", "Pain", "Inf", "Born", "Operated", "Sex")


def visit(seen: str = "", **told: str) -> list[str]:
    """A visit of patient p1, but for what is told; columns by their names in small letters."""
    cells = dict.fromkeys(HEADER, "") | {"Pat": "p1", "Seen": seen}
    names = {name.lower().replace(" ", "_"): name for name in HEADER}
    return list((cells | {names[name]: cell for name, cell in told.items()}).values())


def three(seen: str = "", **told: str) -> list[str]:
    """A visit of the patient of the sound row, told by birth, operation and sex and not by key."""
    person = {"pat": "", "born": "03.04.2010", "operated": "05.06.2015", "sex": "M"}
    return visit(seen, **(person | told))


def follow(
    tmp_path: Path,
    operations: Sequence[Sequence[str]],
    visits: Sequence[Sequence[str]],
    how: str = KEYED,
    more: str = "",
    extra: Sequence[str] = (),
    **options: Any,
) -> Intake:
    """Read operations under the plain header, and visits beside them."""
    first = write_csv(tmp_path / "ops.csv", [[*PLAIN_HEADER, *extra], *operations])
    second = write_csv(tmp_path / "visits.csv", [HEADER, *visits])
    return read_hospital([first, second], legend(more + how), **{"cutoff": CUTOFF, "key": KEY} | options)


def told(found: Intake, *names: str) -> list[tuple[Any, ...]]:
    """Fields of each case as text, empty ones None."""
    rows = found.cases.select(list(names)).to_pylist()
    return [tuple(None if row[name] is None else str(row[name]) for name in names) for row in rows]


def listed(found: Intake) -> list[tuple[int, str, str]]:
    """Row, field and rule of what is listed of the visits."""
    return [
        (line["row"], line["field"], line["rule"])
        for line in found.set_aside.to_pylist()
        if line["file"].startswith("visits")
    ]


def counted(found: Intake) -> dict[str, int]:
    """Rows of each step and reason of the visits."""
    return {
        line["reason"] or line["step"]: line["rows"]
        for line in found.flow.to_pylist()
        if line["step"].startswith("visits")
    }


def settle(found: Intake, means: str) -> Decisions:
    """Settle the first question as a person would."""
    name = found.questions.to_pylist()[0]["print"]
    return Decisions((Decision(found.hospital, "pair", "", name, means, "an assistant", CUTOFF),))
