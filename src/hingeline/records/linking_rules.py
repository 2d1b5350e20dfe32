"""What a visit must satisfy to be joined, and what is said of it when it is: a registry of rules, each one entry.

As in `hingeline.records.rules`, a rule says in SQL when it is broken, here of the view ``checked``: a visit with its
patient and day. A visit that is set aside is listed and counted under the first rule of that severity that it breaks.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from .legend_model import VISIT_KINDS
from .rule import Rule
from .rules import RULE

_DATES: Final = tuple(name for name, kind in VISIT_KINDS.items() if kind == "date")
_CODED: Final = tuple(name for name, kind in VISIT_KINDS.items() if kind in ("code", "flag"))
_AFTER: Final = ("recurred_on", "other_groin_on", "died_on")

VISIT_RULES: Final[tuple[Rule, ...]] = (
    Rule(
        name="visit without a patient",
        severity="set aside",
        fields=("patient",),
        sentence="The row does not say whose visit it is: neither a key, nor birth, sex and operation together",
        todo="Enter the patient's key, or the dates of birth and operation and the sex",
        broken="NOT told_person",
    ),
    Rule(
        name="visit without a date",
        severity="set aside",
        fields=("seen_on",),
        sentence="The day of the visit is empty or cannot be read, and nothing at it has a date of its own",
        todo="Correct the date, or [follow_up.dates] order in the legend",
        broken="dated IS NULL",
    ),
    Rule(
        name="exact duplicate of a visit",
        severity="set aside",
        fields=("seen_on",),
        sentence="An earlier row of the visits says the same in every column that the legend maps",
        todo="Nothing, if the row was exported twice; else correct what should differ",
        broken="again",
    ),
    Rule(
        name="visit of no operation, as settled",
        severity="set aside",
        fields=("patient",),
        sentence="A person settled that the visit belongs to no operation of the file",
        todo="Nothing; undo the line in decisions.csv if it was wrong",
        broken="how IS NOT DISTINCT FROM 'none'",
    ),
    Rule(
        name="doubtful match of a visit",
        severity="set aside",
        fields=("patient",),
        sentence="What tells the patient nearly fits an operation, or fits several; nothing doubtful is joined",
        todo="Answer the question on it, or correct the cell that differs",
        broken="doubt IS NOT NULL",
    ),
    Rule(
        name="visit of a patient without an operation",
        severity="set aside",
        fields=("patient",),
        sentence="No operation of the hospital's files is of this patient",
        todo="Nothing, if the patient was operated elsewhere or earlier; else make the keys alike in both",
        broken="person IS NULL",
    ),
    Rule(
        name="visit of an operation without a usable date",
        severity="set aside",
        fields=("patient",),
        sentence="The patient's operations have no day that can be trusted, so nothing can be after it",
        todo="Correct the date of operation",
        broken="NOT attached AND NOT any_operation",
    ),
    Rule(
        name="visit of a groin without an operation",
        severity="set aside",
        fields=("side",),
        sentence="The visit is of a groin in which no operation of the patient is known",
        todo="Correct the side, here or at the operation; a hernia of that groin is one of the other groin",
        broken="NOT attached AND NOT any_of_side",
    ),
    Rule(
        name="visit before the operation",
        severity="set aside",
        fields=("seen_on",),
        sentence="The visit lies before every operation that it could belong to",
        todo="Nothing, if it led to the operation; else correct one of the two dates",
        broken="NOT attached",
    ),
    Rule(
        name="visit after the cut-off",
        severity="corrected",
        fields=("seen_on",),
        sentence="The visit lies after the data cut-off: followed up to it, and what was found later is left out",
        todo="Nothing, if the file was exported later; else correct the date",
        broken="late",
    ),
    Rule(
        name="event after the cut-off",
        severity="corrected",
        fields=_AFTER,
        each=True,
        sentence="The event lies after the data cut-off, at which it had not happened; left empty",
        todo="Nothing, if the file was exported later; else correct the date",
        broken="{field} > cutoff",
    ),
    Rule(
        name="finding of two groins",
        severity="corrected",
        fields=(
            "recurred",
            "other_groin",
            "chronic_pain",
            "testicular_atrophy",
            "ascending_testis",
            "vas_injury",
            "infection",
        ),
        each=True,
        sentence="Two groins were operated by then, and the visit does not say in which it was found: applied to none; "
        "where it is a recurrence, both count as followed only up to the visit before",
        todo="Answer the question on it, or enter the side",
        broken="list_contains(unsided, '{field}')",
    ),
    Rule(
        name="recurrence without a usable date",
        severity="corrected",
        fields=("recurred_on",),
        sentence="There is a recurrence whose date cannot be read; the groin counts as followed only up to the visit "
        "before",
        todo="Correct the date",
        broken="unread",
    ),
    Rule(
        name="event before the operation",
        severity="corrected",
        fields=("recurred_on", "other_groin_on", "died_on"),
        each=True,
        sentence="The event lies on or before the day of the operation, or the death before a later one: not applied; "
        "a recurrence before it lets the groin count as followed only up to the visit before, unless the operation "
        "was for one",
        todo="Correct one of the dates; nothing, if the event led to the operation",
        broken="list_contains(early, '{field}')",
        value="coalesce({field}_text, seen_on_text)",
    ),
    Rule(
        name="visit and operation differ on the person",
        severity="noted",
        fields=("sex", "born_on"),
        each=True,
        sentence="The key is the same, but the sex or the date of birth is not; joined by the key",
        todo="Correct one of the two, or the key",
        broken="differs = '{field}'",
    ),
    Rule(
        name="visit after the death",
        severity="noted",
        fields=("seen_on",),
        sentence="The visit lies after the day on which the patient died; both stand",
        todo="Correct one of the two dates, or the key",
        broken="after_death AND person IS NOT NULL",
    ),
    *(
        replace(
            RULE[name],
            fields=tuple(one for one in _DATES if one != "recurred_on"),
            todo=RULE[name].todo.replace("[dates]", "[follow_up.dates]"),
        )
        for name in ("ambiguous date left empty", "unusable date left empty")
    ),
    replace(
        RULE["unknown code"],
        fields=_CODED,
        sentence="The cell is no known code; not known, and a visit of which it hides the recurrence does not count",
    ),
    replace(RULE["two-digit year"], fields=_DATES),
    replace(RULE["cell begins like a formula"], fields=tuple(VISIT_KINDS)),
)
