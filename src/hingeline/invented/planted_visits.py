"""Errors planted among visits: sound visits come in, visits with known faults and their list go out.

Each faulty visit is one more of a patient whose groins keep the follow-up that they have: it stands on the day of the
last visit or after it, and says nothing that could be applied. None makes a case.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Final

import numpy as np

from hingeline.invented.cells import dated
from hingeline.invented.faults import EACH, Fault
from hingeline.invented.outcomes import Rows
from hingeline.invented.patients import CUTOFF
from hingeline.invented.visits import Visit

END: Final[date] = CUTOFF.astype(object)
ROOM: Final = timedelta(60)
"""Days from a last visit to the cut-off in which a faulty one finds room."""

STRANGER: Final = 5_000_000
"""Number from which patients are counted who were operated nowhere here."""

SHORT: Final = "short"
"""Stands for the day of the visit with two digits of its year."""


@dataclass(frozen=True)
class Known:
    """A patient's last visit, and what a fault made of it has to know.

    Attributes
    ----------
    visit : Visit
    operated_on : date
        Of all groins, on one day.
    rows : tuple of int
        Of the groins, one or two.
    infected : bool
        Whether an operation's own column tells of an infection.
    """

    visit: Visit
    operated_on: date
    rows: tuple[int, ...]
    infected: bool

    @property
    def groins(self) -> int:
        """One or two."""
        return len(self.rows)

    @property
    def room(self) -> bool:
        """Whether a later visit fits before the cut-off."""
        return self.visit.seen_on + ROOM < END


Change = Callable[[Known, int], Visit]


@dataclass(frozen=True)
class VisitPlan:
    """One kind of fault: what it changes in a copy of a last visit, and what its cell then holds.

    Attributes
    ----------
    rule, field : str
        The rule, and the field that is listed.
    change : callable
        From what is known of a patient, and the fault's number, to the faulty visit.
    raw : sequence of str
        What the cell holds in place of its value, one text a fault.
    among : callable
        Which patients can have it.
    at_operation : bool
        Whether the operation's row is listed, not that of the visit.
    also : tuple of str
        Further rules that the cell breaks.
    """

    rule: str
    field: str
    change: Change = lambda known, j: known.visit
    raw: Sequence[str] = ()
    among: Callable[[Known], bool] = lambda known: known.room and known.groins == 1
    at_operation: bool = False
    also: tuple[str, ...] = ()


def _other_person(known: Known, j: int) -> Visit:
    sex = "female" if known.visit.sex == "male" else "male"
    return replace(known.visit, sex=sex, born_on=known.visit.born_on - timedelta(1_000 + j))


def _stranger(known: Known, j: int) -> Visit:
    return replace(known.visit, patient=STRANGER + j, born_on=known.visit.born_on - timedelta(77 + j))


def _other_birth(known: Known, j: int) -> Visit:
    return replace(known.visit, born_on=known.visit.born_on - timedelta(365 + j))


def _other_groin(known: Known, j: int) -> Visit:
    return replace(known.visit, side={"left": "right", "right": "left"}[known.visit.side])


def _before(known: Known, j: int) -> Visit:
    return replace(known.visit, seen_on=known.operated_on - timedelta(100 + j))


def _after_the_end(known: Known, j: int) -> Visit:
    return replace(known.visit, seen_on=END + timedelta(40 + j))


def _later(known: Known, j: int) -> Visit:
    return replace(known.visit, seen_on=known.visit.seen_on + timedelta(30 + j), chronic_pain="")


def _as_before(known: Known, j: int) -> Visit:
    """Seen on the same day once more, by somebody who asked of pain otherwise."""
    return replace(known.visit, chronic_pain="" if known.visit.chronic_pain else "none")


def _infected(known: Known, j: int) -> Visit:
    return replace(_as_before(known, j), infection="yes")


def _of_either(known: Known, j: int) -> Visit:
    return replace(_later(known, j), side="", recurred="yes")


def _recurred_late(known: Known, j: int) -> Visit:
    return replace(known.visit, recurred_on=END + timedelta(20 + j))


def _recurred_before(known: Known, j: int) -> Visit:
    return replace(_later(known, j), recurred_on=known.operated_on - timedelta(200 + j))


PLANS: Final = (
    VisitPlan(
        "visit after the cut-off", "seen_on", _after_the_end, among=lambda known: known.visit.seen_on == END
    ),
    VisitPlan(
        "finding of two groins",
        "recurred",
        _of_either,
        among=lambda known: known.room and known.groins == 2 and known.visit.side == "both",
    ),
    VisitPlan(
        "visit of a groin without an operation",
        "side",
        _other_groin,
        among=lambda known: known.groins == 1 and known.visit.side != "",
    ),
    VisitPlan("visit without a patient", "patient", raw=("", "")),
    VisitPlan("visit without a date", "seen_on", raw=("31/02/2015", "")),
    VisitPlan("exact duplicate of a visit", "seen_on"),
    VisitPlan("doubtful match of a visit", "patient", _other_person),
    VisitPlan("visit of a patient without an operation", "patient", _stranger),
    VisitPlan("visit before the operation", "seen_on", _before),
    VisitPlan("event after the cut-off", "recurred_on", _recurred_late),
    VisitPlan("recurrence without a usable date", "recurred_on", _later, raw=("00/00/2016", "30/02/2017")),
    VisitPlan("event before the operation", "recurred_on", _recurred_before),
    VisitPlan("visit and operation differ on the person", "born_on", _other_birth),
    VisitPlan("ambiguous date left empty", "born_on", raw=("04/05/1950", "03/09/1961")),
    VisitPlan("unusable date left empty", "born_on", raw=("31/02/1950", "00/00/1961")),
    VisitPlan("unknown code", "recurred", _later, raw=("maybe", "?")),
    VisitPlan(
        "operation and visits disagree",
        "infection",
        _infected,
        among=lambda known: known.room and known.groins == 1 and not known.infected,
        at_operation=True,
    ),
    VisitPlan(
        "cell begins like a formula",
        "reoperation_type",
        _as_before,
        raw=("=C2", "@sum"),
        also=("unknown code",),
    ),
    VisitPlan("two-digit year", "seen_on", _as_before, raw=(SHORT, SHORT)),
)
"""Every rule on a visit that a sheet with key, sex, birth and side can break; the choosiest first."""

OF_FAULTY: Final = {
    "unusable date": ("visit of an operation without a usable date", "patient"),
    "cell begins like a formula": ("visit after the death", "seen_on"),
}
"""By the fault of an operation: the fault of a visit of that patient, whom no sound row is of."""


def plant_visits(
    visits: Sequence[Visit], rows: Rows, operation_faults: Sequence[Fault], seed: int
) -> tuple[list[Visit], list[Fault], list[Fault]]:
    """Add faulty visits.

    Parameters
    ----------
    visits : sequence of Visit
        Sound ones.
    rows : Rows
        The hospital's groins, the faulty ones among them.
    operation_faults : sequence of Fault
        Those of the operations.
    seed : int

    Returns
    -------
    visits : list of Visit
        In the order of their days, the faulty among them.
    faults : list of Fault
        Each with its place among them.
    of_operations : list of Fault
        Those that are listed at an operation, with its row.
    """
    waiting = _known(visits, rows, np.random.default_rng([seed, 7]))
    marked: list[tuple[Visit, list[Fault]]] = [(visit, []) for visit in visits]
    of_operations: list[Fault] = []
    for plan in PLANS:
        fitting = [known for known in waiting if plan.among(known)][:EACH]
        waiting = [known for known in waiting if known not in fitting]
        for j, known in enumerate(fitting):
            visit = plan.change(known, j)
            if plan.at_operation:
                of_operations.append(Fault(known.rows[0], plan.rule, plan.field))
                marked.append((visit, []))
                continue
            raw = plan.raw[j] if plan.raw else None
            if raw == SHORT:
                text = str(dated(np.array([visit.seen_on], "datetime64[D]"), "dmy/")[0])
                raw = text[:-4] + text[-2:]
            faulty = [Fault(0, rule, plan.field, raw, plan.field) for rule in (plan.rule, *plan.also)]
            marked.append((visit, faulty))
    for fault in operation_faults:
        if fault.rule in OF_FAULTY:
            rule, name = OF_FAULTY[fault.rule]
            marked.append((_of_faulty(rows, fault), [Fault(0, rule, name)]))
    # A repeated row stands behind the one that it repeats.
    marked.sort(key=lambda one: (one[0].seen_on, one[0].patient, bool(one[1])))
    faults = [replace(fault, index=place) for place, (_, some) in enumerate(marked) for fault in some]
    return [visit for visit, _ in marked], faults, of_operations


def _of_faulty(rows: Rows, fault: Fault) -> Visit:
    """A visit of a patient whose operation is faulty; where its day is right, of one who died before."""
    row = fault.index
    born, sex, operated = rows["born_on"][row].item(), str(rows["sex"][row]), rows["operated_on"][row].item()
    visit = Visit(int(rows["patient"][row]), sex, born, END - timedelta(30))
    if fault.rule == "unusable date":
        return visit
    return replace(visit, seen_on=operated + timedelta(40), died_on=operated + timedelta(30))


def _known(visits: Sequence[Visit], rows: Rows, generator: np.random.Generator) -> list[Known]:
    """Patients of one operation whose groins never recurred, shuffled."""
    names = ("patient", "operated_on", "recurred_on", "infection")
    groins: dict[int, list[tuple[int, date, date | None, bool]]] = {}
    columns = [rows[name].tolist() for name in names]
    for row, (patient, operated, recurred, infected) in enumerate(zip(*columns, strict=True)):
        groins.setdefault(patient, []).append((row, operated, recurred, infected))
    last = {visit.patient: visit for visit in visits}  # in the order of their days
    found = []
    for patient in generator.permutation(sorted(last)).tolist():
        own_rows, days, recurrences, infections = zip(*groins[patient], strict=True)
        if len(set(days)) == 1 and not any(recurrences):
            found.append(Known(last[patient], days[0], own_rows, any(infections)))
    return found
