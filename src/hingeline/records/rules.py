"""What a case must satisfy: a registry of rules, each one entry.

A groin comes in as the columns of the view ``groin`` (see `hingeline.records.groins`); a rule says in SQL
when it is broken, in a sentence what that means, and what a person can do. To add a rule, add one `Rule` to
`RULES`; nothing else needs to know. Order matters: a groin that breaks several rules is counted under the
first, and is listed under each.

Severities: *set aside* (the groin is no case), *corrected* (it is a case, with a value changed as `corrects`
says), *noted* (it is a case; what could not be read is left empty). What is set aside is what would put a
groin into the wrong place of the main question, its age, sex, side or person; a doubtful follow-up costs only
itself.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from .alike import near_duplicates, recurrences_alone
from .legend_model import ABSENT, FOUND_LATER, KINDS
from .rule import Rule

HIGHEST_AGE: Final = 110
"""In completed years; no repair at a higher age is credible."""

_CODED: Final = tuple(
    name for name, kind in KINDS.items() if kind in ("code", "flag", "grade", "ehs") and name != "sex"
)
_TESTICULAR: Final = ("testicular_atrophy", "ascending_testis", "vas_injury")
_NUMBERS: Final = tuple(name for name, kind in KINDS.items() if kind in ("number", "age"))
_DATES: Final = tuple(name for name, kind in KINDS.items() if kind == "date")
_AFTER: Final = ("recurred_on", "other_groin_on", "died_on")

_NOTE_AND: Final = (
    ("type", "type", "type_typed <> note_type", "coalesce(type_text, ehs_text)"),
    ("repair", "repair", "repair <> 'unknown' AND repair <> note_repair", "repair_text"),
    ("approach", "approach", "approach <> 'unknown' AND approach <> note_approach", "approach_text"),
    (
        "occurrence",
        "occurrence",
        "occurrence_typed <> note_occurrence",
        "coalesce(occurrence_text, ehs_text)",
    ),
    ("reason", "reason", "reason <> note_reason", "reason_text"),
    ("mesh", "mesh_used", "mesh_used <> note_mesh", "mesh_used_text"),
    (
        "side",
        "side",
        # A row of both sides whose note tells one, a row of one whose note tells the other, or both.
        "side_typed IS NOT NULL AND (note_side <> 'both' AND note_side <> side OR note_side = 'both' "
        "AND side_typed <> 'both')",
        "coalesce(side_text, side)",
    ),
)
"""What a row and its note may both tell: in words, by field, when they disagree, and what is listed."""

RULES: Final[tuple[Rule, ...]] = (
    Rule(
        name="no operation, as settled",
        severity="set aside",
        fields=("note", "side"),
        sentence="A person read the note and settled that this groin was not operated",
        todo="Nothing; undo the line in decisions.csv if it was",
        broken=f"note_type = '{ABSENT}'",
        value="note_side",
    ),
    Rule(
        name="no patient key",
        severity="set aside",
        fields=("patient",),
        sentence="The row does not say whose groin it is: it has no key or, where the hospital gives none, not all of "
        "date of birth, sex and date of operation",
        todo="Enter the patient's key, or the date that is missing",
        # Where the key is made of birth, sex and operation, what else is wrong with these is told by its own rule.
        broken="patient IS NULL AND (patient_mapped "
        "OR (sex IS NOT NULL AND age_days IS NOT NULL AND NOT operated_on_bad))",
    ),
    Rule(
        name="unusable side",
        severity="set aside",
        fields=("side",),
        sentence="The side is empty or no known code, and no note tells it",
        todo="Enter the side, or add the code to [fields.side] in the legend",
        broken="side IS NULL",
    ),
    Rule(
        name="unusable sex",
        severity="set aside",
        fields=("sex",),
        sentence="The sex is empty or no known code",
        todo="Enter the sex, or add the code to [fields.sex] in the legend",
        broken="sex IS NULL",
    ),
    Rule(
        name="ambiguous date",
        severity="set aside",
        fields=("operated_on", "born_on"),
        each=True,
        sentence="The column holds dates in two orders, and this one fits both, as two different days",
        todo="Write the date year first in the file, or give [dates] order in the legend",
        broken="{field}_ambiguous AND {field}_bad AND (age_days IS NULL OR '{field}' = 'operated_on')",
    ),
    Rule(
        name="unusable date",
        severity="set aside",
        fields=("operated_on", "born_on"),
        each=True,
        sentence="The date cannot be read, and without it the age, or the place in the study's years, is not known",
        todo="Correct the date, or [dates] order in the legend",
        # An operation date that is there but unreadable may lie anywhere, even where the age is given.
        broken="{field}_bad AND NOT {field}_ambiguous AND (age_days IS NULL OR '{field}' = 'operated_on')",
    ),
    Rule(
        name="no usable age",
        severity="set aside",
        fields=("age", "born_on", "operated_on"),
        sentence="The age at operation is not given",
        todo="Enter the age, or the dates of birth and operation",
        broken="age_days IS NULL AND NOT operated_on_bad IS TRUE AND NOT born_on_bad IS TRUE",
    ),
    Rule(
        name="operation before birth",
        severity="set aside",
        fields=("operated_on", "born_on"),
        sentence="The operation lies before the date of birth",
        todo="Correct one of the two dates",
        broken="born_on > operated_on",
    ),
    Rule(
        name=f"age outside 0–{HIGHEST_AGE}",
        severity="set aside",
        fields=("age", "born_on", "operated_on"),
        sentence=f"The age is below 0 or above {HIGHEST_AGE} years",
        todo="Correct the age or the dates; check the unit in the legend when there are many",
        broken=f"(age_days < 0 OR age_days >= {HIGHEST_AGE + 1} * 365.25) "
        "AND (born_on <= operated_on) IS NOT FALSE",
        value="coalesce(age_text, round(age_days / 365.25, 1)::VARCHAR)",
    ),
    Rule(
        name="operation in the future",
        severity="set aside",
        fields=("operated_on",),
        sentence="The operation lies after the data cut-off",
        todo="Correct the date, or move the cut-off in the protocol",
        broken="operated_on > cutoff",
    ),
    Rule(
        name="recurrence before operation",
        severity="set aside",
        fields=("recurred_on", "operated_on"),
        sentence="The recurrence lies before the operation that it should follow",
        todo="Correct one of the two dates; if it led to this operation, it belongs to the earlier one",
        broken="recurred_on < operated_on",
    ),
    Rule(
        name="death before operation",
        severity="set aside",
        fields=("died_on", "operated_on"),
        sentence="The death lies before the operation",
        todo="Correct one of the two dates",
        broken="died_on < operated_on",
    ),
    Rule(
        name="exact duplicate",
        severity="set aside",
        fields=("patient",),
        sentence="An earlier row says the same in every column that the legend maps",
        todo="Nothing, if the row was exported twice; else correct what should differ",
        broken="row_number() OVER (PARTITION BY meaning, side ORDER BY groin) > 1",
        among="sound",
    ),
    Rule(
        name="same groin twice on one day",
        severity="set aside",
        fields=("operated_on", "patient", "side"),
        sentence="An earlier row is of the same patient, side and day; the earlier one stands",
        todo="Correct the side or the date, or remove the row that is wrong",
        broken="operated_on IS NOT NULL "
        "AND row_number() OVER (PARTITION BY patient, side, operated_on ORDER BY groin) > 1",
        among="sound",
    ),
    Rule(
        name="follow-up before operation",
        severity="corrected",
        fields=("followed_until", "operated_on"),
        sentence="The last follow-up lies before the operation, so there was none after it; left empty",
        todo="Enter the last date seen after the operation, if there is one",
        broken="followed_until < operated_on",
        corrects={"followed_until": "NULL"},
    ),
    Rule(
        name="follow-up after the cut-off",
        severity="corrected",
        fields=("followed_until",),
        sentence="The last follow-up lies after the data cut-off; brought back to it",
        todo="Nothing, if the file was exported later; else correct the date",
        broken="followed_until > cutoff",
        corrects={"followed_until": "cutoff"},
    ),
    Rule(
        name="event after the cut-off",
        severity="corrected",
        fields=_AFTER,
        each=True,
        sentence="The event lies after the data cut-off, at which it had not happened; left empty",
        todo="Nothing, if the file was exported later; else correct the date",
        broken="{field} > cutoff",
        corrects={"{field}": "NULL"},
    ),
    Rule(
        name="recurrence without a usable date",
        severity="corrected",
        fields=("recurred_on",),
        sentence="There is a recurrence whose date cannot be read; without it this groin's follow-up "
        "would look free of one, so the follow-up is left empty too",
        todo="Correct the date",
        broken="recurred_on_bad",
        corrects={"followed_until": "NULL"},
    ),
    Rule(
        name="last well out of order",
        severity="corrected",
        fields=("last_well_on", "operated_on", "recurred_on"),
        sentence="The last date without recurrence lies before the operation, not before the recurrence, or after the "
        "data cut-off; left empty, so that the recurrence may have come at any time since the operation",
        todo="Correct the date, or leave it out",
        broken="last_well_on < operated_on OR last_well_on >= recurred_on OR last_well_on > cutoff",
        corrects={"last_well_on": "NULL"},
    ),
    Rule(
        name="other groin before operation",
        severity="corrected",
        fields=("other_groin_on", "operated_on"),
        sentence="The later hernia of the other groin lies before this operation; left empty",
        todo="Correct one of the two dates, or leave it out",
        broken="other_groin_on < operated_on",
        corrects={"other_groin_on": "NULL"},
    ),
    Rule(
        name="female with a testicular complication",
        severity="corrected",
        fields=_TESTICULAR,
        each=True,
        always=True,
        # The sex stands in every row and decides where a groin is counted; the complication is one tick in a list.
        sentence="A woman has no testis; the complication is left empty and the sex stands",
        todo="Correct the sex or the complication",
        broken="sex = 'female' AND {field}",
        corrects={"{field}": "NULL"},
    ),
    Rule(
        name="high ligation with mesh",
        severity="corrected",
        fields=("repair", "mesh_used", "note"),
        sentence="A high ligation leaves no mesh, yet one is told; the repair is not known",
        todo="Correct the repair or the mesh",
        broken="repair_told = 'high_ligation' AND mesh_told",
        corrects={"repair": "'unknown'"},
        value="coalesce(repair_text, mesh_used_text)",
    ),
    Rule(
        name="later operation of a groin called primary",
        severity="corrected",
        fields=("occurrence", "operated_on", "patient"),
        sentence="An earlier row is of an operation for a hernia in the same groin, so this one is for a recurrence",
        todo="Correct the occurrence; correct the side or the date if the two rows are of different groins",
        broken="earlier_on IS NOT NULL AND occurrence_told = 'primary'",
        corrects={"occurrence": "'recurrent'"},
        value="coalesce(occurrence_text, ehs_text)",
    ),
    Rule(
        name="ambiguous date left empty",
        severity="noted",
        fields=tuple(name for name in _DATES if name != "recurred_on"),
        each=True,
        sentence="The column holds dates in two orders, and this one fits both; left empty",
        todo="Write the date year first in the file, or give [dates] order in the legend",
        broken="{field}_ambiguous AND {field}_bad",
    ),
    Rule(
        name="unusable date left empty",
        severity="noted",
        fields=tuple(name for name in _DATES if name != "recurred_on"),
        each=True,
        sentence="The date cannot be read; left empty",
        todo="Correct the date, or [dates] order in the legend",
        broken="{field}_bad AND NOT {field}_ambiguous",
    ),
    Rule(
        name="unusable number",
        severity="noted",
        fields=_NUMBERS,
        each=True,
        sentence="The cell is no number, or none that a body can have; left empty",
        todo="Correct the number, or its unit in the legend",
        broken="{field}_bad",
    ),
    Rule(
        name="unknown code",
        severity="noted",
        fields=_CODED,
        each=True,
        sentence="The cell is no known code; not known",
        todo="Add the code to the legend, or correct the cell",
        broken="{field}_bad",
    ),
    Rule(
        name="two-digit year",
        severity="noted",
        fields=_DATES,
        each=True,
        sentence="The year has two digits; the latest century was taken that can be",
        todo="Export years with four digits",
        broken="{field}_short AND {field} IS NOT NULL",
    ),
    Rule(
        name="type and EHS code disagree",
        severity="noted",
        fields=("type", "ehs"),
        sentence="The type and the EHS code say different things; the type stands",
        todo="Correct one of the two",
        broken="type <> ehs_type AND type <> 'unknown'",
    ),
    Rule(
        name="age and birth date disagree",
        severity="noted",
        fields=("age", "born_on", "operated_on"),
        sentence="The age is not the one that the dates of birth and operation give, by more than its rounding can "
        "explain; the dates stand",
        todo="Correct the age or one of the dates",
        # Beside the middle of its span: completed or rounded years, months or tenths of years, weeks or days.
        broken="age_from_dates - age NOT BETWEEN CASE age_precision_given WHEN 'year' THEN -366 WHEN 'month' THEN -40 "
        "ELSE -8 END AND CASE age_precision_given WHEN 'year' THEN 184 WHEN 'month' THEN 40 ELSE 8 END",
    ),
    Rule(
        name="operation and visits disagree",
        severity="noted",
        fields=FOUND_LATER,
        each=True,
        sentence="The operation's own column and the visits say different things; the operation's own stands",
        todo="Correct one of the two",
        broken="{field} <> seen_{field}",
    ),
    Rule(
        name="repair and mesh disagree",
        severity="noted",
        fields=("repair", "mesh_used"),
        sentence="The repair says one thing of a mesh and its own column another; the repair stands",
        todo="Correct one of the two",
        broken="(repair = 'tissue' AND mesh_used) OR (repair = 'mesh' AND NOT mesh_used)",
    ),
    *(
        Rule(
            name=f"{what} and note disagree",
            severity="noted",
            fields=(name, "note"),
            sentence=f"The {what} and the operation note say different things; the {what} stands",
            todo="Read the note, and correct the column if it is wrong",
            broken=broken,
            value=value,
        )
        for what, name, broken, value in _NOTE_AND
    ),
    Rule(
        name="doubtful note",
        severity="noted",
        fields=("note", "type"),
        sentence="The operation note leaves something open; what it leaves open is not known",
        todo="Read the note and settle it: it stands among the questions",
        broken="note_doubt IS NOT NULL AND type_typed IS NULL",
        value="note_doubt",
    ),
    Rule(
        name="recurrence without a primary",
        severity="noted",
        fields=("occurrence", "operated_on", "patient"),
        sentence="The groin is called recurrent, and the patient was operated here before, but not in this groin; its "
        "first repair may well have been elsewhere",
        todo="Nothing, if the first repair was elsewhere; else correct the side or the occurrence",
        found=recurrences_alone,
    ),
    Rule(
        name="near-duplicate",
        severity="noted",
        fields=("patient",),
        sentence="Another row says the same in every mapped column but this one; both are kept",
        todo="Remove one of the two rows, if they are of one operation",
        found=near_duplicates,
    ),
    Rule(
        name="cell begins like a formula",
        severity="noted",
        fields=tuple(name for name, kind in KINDS.items() if kind != "note"),
        each=True,
        sentence="The cell begins as a formula of a spreadsheet does; it is never run, and written as plain text",
        todo="Correct the cell: a formula is no record",
        broken="({field}_bad OR '{field}' IN ('patient', 'surgeon')) "
        "AND left({field}_text, 1) IN ('=', '+', '-', '@', '＝', '＋', '－', '＠') "
        "AND NOT regexp_matches({field}_text, '^[+-]?[0-9][0-9 .,/-]*$')",
    ),
)

RULE: Final[Mapping[str, Rule]] = {rule.name: rule for rule in RULES}
