"""`look` on forms of other shapes: columns for each side, names in two rows, visits in files of their own."""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from hingeline.records.legend import legend_from_text
from hingeline.records.propose import Proposal, propose

from .making import write_csv, write_xlsx
from .propose_forms import Column, Form, _cell, _wide, columns, people, truth, write

CODES = {
    "sex": {"male": "M", "female": "F"},
    "side": {"left": "L", "right": "R", "both": "B"},
    "type": {"indirect": "L", "direct": "M", "combined": "L+M", "femoral": "F", "unknown": "?"},
    "repair": {"high_ligation": "lig", "mesh": "mesh", "tissue": "suture"},
    "approach": {"open": "open", "laparoscopic": "lap"},
    "occurrence": {"primary": "prim", "recurrent": "rec"},
    "recurred": {True: "yes", False: "no"},
    "other_groin": {True: "yes", False: "no"},
    "chronic_pain": {"none": "none", "mild": "mild", "severe": "severe", None: ""},
}
ENGLISH = (("Type", "type"), ("Repair", "repair"), ("Approach", "approach"), ("Op date", "operated_on"))
SHARED = "ID | patient\nSex | sex\nDOB | born_on\nLast seen | followed_until"


def _sided(
    name: str, shared: str, own: tuple[tuple[str, str], ...], named: Callable[[str, str], str]
) -> Form:
    listed = columns(shared, CODES)
    for side in ("left", "right"):
        listed += [
            Column(named(side, head), f"{side}.{what}", f"{side}.{what}", CODES.get(what))
            for head, what in own
        ]
    return Form(name, listed, dates="%d/%m/%Y", wide=True)


SIDED = (
    _sided("before", SHARED, ENGLISH, lambda side, head: f"{side[0].upper()}_{head}"),
    _sided("behind", SHARED, ENGLISH, lambda side, head: f"{head} ({side})"),
    _sided("glued", SHARED, ENGLISH, lambda side, head: f"{head.replace(' ', '').lower()}{side[0]}"),
    _sided("above", SHARED, ENGLISH, lambda side, head: f"{side.capitalize()} groin / {head}"),
    _sided(
        "french",
        "N° | patient\nSexe | sex\nNé le | born_on\nDate op | operated_on",
        (("Type", "type"), ("Technique", "repair"), ("Récidive", "recurred_on")),
        lambda side, head: f"{head} {'G' if side == 'left' else 'D'}",
    ),
    _sided(
        "norwegian",
        "Pas.nr | patient\nKjønn | sex\nFødt | born_on",
        (("Funn", "type"), ("Metode", "repair"), ("Opr.dato", "operated_on")),
        lambda side, head: f"{'V' if side == 'left' else 'H'}: {head}",
    ),
    _sided(
        "italian",
        "Codice | patient\nSesso | sex\nNascita | born_on",
        (("Tipo", "type"), ("Tecnica", "repair"), ("Data int.", "operated_on")),
        lambda side, head: f"{head} {'sin' if side == 'left' else 'dx'}",
    ),
)


def _wrong(proposal: Proposal, right: dict[tuple[str, str], str]) -> dict[tuple[str, str], object]:
    found = {(one.table, one.field): one.column for one in proposal.guesses}
    return {key: (column, found.get(key)) for key, column in right.items() if found.get(key) != column}


def _settled(proposal: Proposal) -> str:
    return re.sub(r"^confirm = .*\n", "", proposal.legend_text, flags=re.MULTILINE)


@pytest.mark.parametrize("form", SIDED, ids=lambda form: form.name)
def test_columns_for_each_side_are_paired(form: Form, tmp_path: Path):
    proposal = propose(write(form, tmp_path, 9, n=150), hospital="x")
    assert proposal.form == "patients"
    assert not _wrong(proposal, truth(form))
    assert legend_from_text(_settled(proposal)).form == "patients"


def test_names_in_two_rows_are_paired(tmp_path: Path):
    form = SIDED[3]
    rows = _wide(people(5, 120, (0, 90)))
    names = [column.name.rpartition(" / ") for column in form.columns]
    above = [own if own != names[at - 1][0] else "" for at, (own, _, _) in enumerate(names)]
    cells = [[_cell(form, column, row.get(column.holds)) for column in form.columns] for row in rows]
    path = write_xlsx(tmp_path / "two.xlsx", {"S": [above, [below for _, _, below in names], *cells]})
    assert not _wrong(propose(path, hospital="x"), truth(form))


def test_an_operation_that_may_be_either_form_is_taken_as_told(tmp_path: Path):
    path = write(SIDED[0], tmp_path, 9, n=60)
    assert propose(path, hospital="x", answers={"form": "operations"}).form == "operations"


OPERATIONS = (
    "Patient no | patient\nSex | sex\nDOB | born_on\nOp date | operated_on\n"
    "Side | side\nType | type\nRepair | repair"
)
VISITS = {
    "by key": (
        OPERATIONS,
        "Patient no | patient\nClinic date | seen_on\nRecurrence | recurred\n"
        "Pain | chronic_pain\nOther side hernia | other_groin",
    ),
    "by three": (
        OPERATIONS.removeprefix("Patient no | patient\n"),
        "Date of birth | born_on\nSex | sex\nDate of operation | operated_on\n"
        "Follow-up date | seen_on\nRecurred | recurred",
    ),
    "german": (
        "Pat.-Nr. | patient\nGeschlecht | sex\nGeb.-Datum | born_on\n"
        "OP-Datum | operated_on\nSeite | side\nBefund | type",
        "Pat.-Nr. | patient\nDatum Nachsorge | seen_on\nRezidiv | recurred\n"
        "Schmerzen | chronic_pain\nGegenseite | other_groin",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", VISITS)
@pytest.mark.parametrize("apart", [True, False], ids=["files", "sheets"])
def test_visits_in_another_file_or_sheet_are_joined(name: str, apart: bool, tmp_path: Path):
    rng = random.Random(4)
    form = Form("ops", columns(VISITS[name][0], CODES), ages=(0, 60))
    listed = columns(VISITS[name][1], CODES)
    rows = people(3, 150, form.ages)
    visits = [
        row | {"seen_on": row["operated_on"] + timedelta(days=100 * k + rng.randrange(50))}
        for row in rows[:100]
        for k in range(1, rng.randrange(2, 5))
    ]
    first = [
        [one.name for one in form.columns],
        *([_cell(form, one, row.get(one.holds)) for one in form.columns] for row in rows),
    ]
    second = [
        [one.name for one in listed],
        *([_cell(form, one, row.get(one.holds)) for one in listed] for row in visits),
    ]
    if apart:
        proposal = propose(
            [write_csv(tmp_path / "ops.csv", first), write_csv(tmp_path / "clinic.csv", second)], hospital="x"
        )
    else:
        proposal = propose(write_xlsx(tmp_path / "all.xlsx", {"Ops": first, "Clinic": second}), hospital="x")
    right = truth(form) | {("follow_up", one.truth): one.name for one in listed if one.truth}
    assert not _wrong(proposal, right)
    legend = legend_from_text(_settled(proposal))
    assert legend.follow_up is not None
    assert (legend.follow_up.files == ("clinic.csv",)) if apart else (legend.follow_up.file.sheet == "Clinic")
    assert propose_without_visits(proposal, tmp_path, apart).follow_up is None


def propose_without_visits(proposal: Proposal, folder: Path, apart: bool):
    """The legend when a person says that there are no visits."""
    paths = [folder / "ops.csv", folder / "clinic.csv"] if apart else folder / "all.xlsx"
    return legend_from_text(
        _settled(propose(paths, hospital=proposal.hospital, answers={"follow_up": False}))
    )
