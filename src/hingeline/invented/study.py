"""The invented study as a folder: a seed comes in; exports, legends, protocol, population and truth go out.

It is what the demo runs on: six invented hospitals, about 25,000 groins, figures like the trade's, and a
truth file that says what should be found and which errors were planted.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Final

import numpy as np
import pyarrow as pa

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.invented import patients
from hingeline.invented.cells import Sheet
from hingeline.invented.columns import Form, legend
from hingeline.invented.exports import Places, export, in_order
from hingeline.invented.faults import Fault, Slips
from hingeline.invented.forms_operations import ASHMARSH_FORM, BRACKWATER_FORM, LINDESUND_FORM, WRENHOLT_FORM
from hingeline.invented.forms_patients import HOHENWIEK_FORM, TORVENES_FORM
from hingeline.invented.hospitals import HOSPITALS
from hingeline.invented.notes import write_notes
from hingeline.invented.outcomes import Rows, add_outcomes, take
from hingeline.invented.outcomes_truth import OutcomesTruth, outcomes_truth
from hingeline.invented.patients import Booleans
from hingeline.invented.planted import plant
from hingeline.invented.planted_visits import plant_visits
from hingeline.invented.population import write_population
from hingeline.invented.protocol import SeriesFile, protocol_text
from hingeline.invented.readings import FILE as READ_AGAIN
from hingeline.invented.readings import ReadAgain, draw_again, readings_text
from hingeline.invented.remarks import write_remarks
from hingeline.invented.visits import as_rows, draw_visits
from hingeline.vocabulary import INGUINAL

SEED: Final = 2006
"""Neither the kindest nor the hardest of the seeds tried: the margin of three turns over two is near the median."""
FORMAT: Final = 1

FORMS: Final = (WRENHOLT_FORM, LINDESUND_FORM, ASHMARSH_FORM, HOHENWIEK_FORM, TORVENES_FORM, BRACKWATER_FORM)
"""In the order of `HOSPITALS`."""

SLIPS: Final = (
    Slips(date="31/02/2014", short_year="dmy/", code=("ehs", "PX9"), sex="7"),
    Slips(date="2015-13-40", short_year="", code=("type", "77"), sex="9", old_age="1512"),
    Slips(date="00/00/2012", short_year="dmy/", code=("ehs", "QQ2"), sex="unk.", two_orders=True),
    Slips(date="31.02.2013", short_year="dmy.", code=("type", "siehe Bericht"), sex="x"),
    Slips(date="99.99.2016", short_year="dmy.", code=("type", "B"), sex="U"),
    Slips(date=None, short_year="", code=("recurrence_known_by", "see letter"), sex="?", old_age="214"),
)
"""How faults look in each hospital's file."""


@dataclass(frozen=True)
class Planted:
    """One planted fault, where it stands.

    Attributes
    ----------
    hospital, file : str
    sheet : str
        Of a workbook; else empty.
    row : int
        As a spreadsheet counts.
    rule, field : str
    value : str or None
        The cell's text where the fault is one of text.
    extra : bool
        Whether the row is a case all the same, beside the sound groins.
    """

    hospital: str
    file: str
    sheet: str
    row: int
    rule: str
    field: str
    value: str | None
    extra: bool


@dataclass(frozen=True)
class NotesTold:
    """What the free-text notes of one hospital tell.

    Attributes
    ----------
    hospital, file : str
    typed : dict of str to int
        Sound groins whose notes tell the type, by type.
    left_open : dict of str to int
        Those whose notes leave it open, by the type that it truly was.
    open_rows : tuple of int
        Rows of the latter.
    """

    hospital: str
    file: str
    typed: dict[str, int]
    left_open: dict[str, int]
    open_rows: tuple[int, ...]


@dataclass(frozen=True)
class Truth:
    """What the invented study holds and what should be found in it.

    Attributes
    ----------
    seed : int
    groins, patients : int
        Sound groins and their patients, planted faults left out.
    headline, headline_10_to_25 : int
        Male, primary, reason hernia, type recorded and inguinal; and those aged 10 to under 25.
    headline_direct : int
        Those counted as direct.
    ages, shares : tuple of float
        Points of the true direct share of men, straight on the logit between them.
    turns : tuple of (float, str)
        Age and sign, "up" or "down".
    crossings : dict
        True age at which the share reaches each threshold, at a hospital of the mean intercept.
    hospital_logits : dict
    humps, trough : tuple of float, float
        Of the true density of ages at operation.
    by_hospital : dict
        Sound groins of each hospital.
    outcomes : OutcomesTruth
        True risks of recurrence.
    notes : tuple of NotesTold
    planted : tuple of Planted
    """

    seed: int
    groins: int
    patients: int
    headline: int
    headline_10_to_25: int
    headline_direct: int
    ages: tuple[float, ...]
    shares: tuple[float, ...]
    turns: tuple[tuple[float, str], ...]
    crossings: dict[str, float]
    hospital_logits: dict[str, float]
    humps: tuple[float, ...]
    trough: float
    by_hospital: dict[str, int]
    outcomes: OutcomesTruth
    notes: tuple[NotesTold, ...]
    planted: tuple[Planted, ...]

    def to_frame(self) -> pa.Table:
        """The planted faults, one row each."""
        return pa.Table.from_pylist([asdict(fault) for fault in self.planted])

    def __str__(self) -> str:
        return wording.invented_study(self.groins, len(self.by_hospital), len(self.planted))


def write_study(
    folder: Path,
    *,
    seed: int = SEED,
    groins: int = 25_000,
    series: Sequence[SeriesFile] = (),
    progress: Callable[[str, float], None] | None = None,
) -> Truth:
    """Write a complete invented study folder.

    Parameters
    ----------
    folder : Path
        Made when it is not there; files of the same names are written over.
    seed : int
        The same seed gives the same study.
    groins : int
        About so many sound groins, 500 or more.
    series : sequence of SeriesFile
        Tables of published series that the protocol names.
    progress : callable, optional
        Told what is being done and the share done, 0 to 1.

    Returns
    -------
    Truth

    Raises
    ------
    HingelineError
        When there are too few groins or the folder cannot be written.
    """
    if groins < 500:
        raise HingelineError(
            f"{groins} groins are too few for six hospitals", "groins", "Ask for 500 groins or more"
        )
    tell = progress or (lambda doing, done: None)
    tell("inventing patients", 0.0)
    generator = np.random.default_rng(seed)
    rows = add_outcomes(patients.draw_groins(groins, generator), generator)
    try:
        for name in ("sources", "legends"):
            (folder / name).mkdir(parents=True, exist_ok=True)
        planted: list[Planted] = []
        notes: list[NotesTold] = []
        again: list[ReadAgain] = []
        for i, form in enumerate(FORMS):
            tell(f"writing {form.hospital.file}", 0.1 + 0.8 * i / len(FORMS))
            found, told, read = _write_hospital(
                form, SLIPS[i], take(rows, rows["hospital"] == i), folder, seed + i
            )
            planted += found
            notes += told
            again += read
        tell("writing the protocol", 0.95)
        write_population(folder / "sources" / "population.csv")
        (folder / READ_AGAIN).parent.mkdir(exist_ok=True)
        (folder / READ_AGAIN).write_text(readings_text(again, seed), encoding="utf-8")
        for table in series:
            path = folder / table.file
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(table.text, encoding="utf-8")
        (folder / "study.toml").write_text(protocol_text(seed, series), encoding="utf-8")
        truth = _truth(rows, seed, planted, notes)
        text = json.dumps({"format": FORMAT} | asdict(truth), ensure_ascii=False, indent=1)
        (folder / "truth.json").write_text(text + "\n", encoding="utf-8")
    except OSError as error:
        raise HingelineError(
            f"The invented study cannot be written ({error.strerror})",
            str(error.filename or folder),
            "Choose a folder that may be written and has room",
        ) from None
    tell("done", 1.0)
    return truth


def _write_hospital(
    form: Form, slips: Slips, sound: Rows, folder: Path, seed: int
) -> tuple[list[Planted], list[NotesTold], list[ReadAgain]]:
    """Write export and legend of one hospital; all that is drawn here has dice of its own."""
    noted = "note" in form.fields and "type" not in form.fields
    n = len(sound["side"])
    sound["mesh_used"] = sound["repair"] == "mesh"
    sound["note"] = write_notes(sound, seed) if noted else np.full(n, None, dtype=object)
    rows, faults = plant(sound, form.fields, slips, np.random.default_rng([seed, 1]))
    if "note" in form.fields and not noted:
        touched = np.isin(rows["patient"], rows["patient"][[fault.index for fault in faults]])
        rows["note"] = write_remarks(rows, seed, ~touched)
    # By date of operation, groins of one operation together; a fault stands at its own date.
    order = np.lexsort((rows["patient"], rows["operated_on"]))
    sheet = in_order(Sheet(rows, faults), order)
    visits, visit_faults, of_operations = _visits(form, sheet, sound, seed)
    where = export(form, sheet, folder / "sources", visits)
    (folder / "legends" / f"{form.hospital.slug}.toml").write_text(legend(form), encoding="utf-8")
    told = [_notes_told(form, sheet, where, np.isin(order, np.arange(n)))] if noted else []
    page = str(form.file.get("sheet", ""))
    at_operations = [*sheet.faults, *of_operations]
    planted = [_planted(form, page, int(where[fault.index]), fault) for fault in at_operations]
    if form.clinic is not None:
        first = form.clinic.header_row + 1
        planted += [_planted(form, form.clinic.sheet, first + fault.index, fault) for fault in visit_faults]
    touched = sheet.rows["patient"][[fault.index for fault in at_operations]]
    untouched = np.isin(order, np.arange(n)) & ~np.isin(sheet.rows["patient"], touched)
    again = draw_again(
        form.hospital.name,
        form.hospital.path,
        where,
        sheet.rows["side"],
        sheet.rows["true_type"],
        untouched & (sheet.rows["type"] != "unknown"),
        seed,
    )
    return planted, told, again


def _visits(
    form: Form, sheet: Sheet, sound: Rows, seed: int
) -> tuple[Sheet | None, list[Fault], list[Fault]]:
    """Rows of the clinic's sheet, if there is one; faults among them, and those that are listed at operations."""
    if form.clinic is None:
        return None, [], []
    visits, faults, of_operations = plant_visits(draw_visits(sound, seed), sheet.rows, sheet.faults, seed)
    return Sheet(as_rows(visits), faults), faults, of_operations


def _planted(form: Form, sheet: str, row: int, fault: Fault) -> Planted:
    hospital = form.hospital
    return Planted(
        hospital.name, hospital.path, sheet, row, fault.rule, fault.field, fault.raw or None, fault.extra
    )


def _notes_told(form: Form, sheet: Sheet, where: Places, sound: Booleans) -> NotesTold:
    kinds, true_kinds = sheet.rows["type"], sheet.rows["true_type"]
    left_open = sound & (kinds == "unknown")
    return NotesTold(
        hospital=form.hospital.name,
        file=form.hospital.path,
        typed=dict(sorted(Counter(kinds[sound & ~left_open].tolist()).items())),
        left_open=dict(sorted(Counter(true_kinds[left_open].tolist()).items())),
        open_rows=tuple(sorted(set(where[left_open].tolist()))),
    )


def _truth(rows: Rows, seed: int, planted: list[Planted], notes: list[NotesTold]) -> Truth:
    shape = patients.shape()
    headline = rows["male"] & (rows["occurrence"] == "primary") & (rows["reason"] == "hernia")
    headline &= np.isin(rows["type"], INGUINAL)
    young = headline & (rows["age_years"] >= 10) & (rows["age_years"] < 25)
    counts = np.bincount(rows["hospital"], minlength=len(HOSPITALS)).tolist()
    ages = np.linspace(0, 95, 951)
    density = patients.operations_by_age(ages)
    between = (ages > 10) & (ages < 60)
    return Truth(
        seed=seed,
        groins=len(rows["side"]),
        patients=len(np.unique(rows["patient"])),
        headline=int(headline.sum()),
        headline_10_to_25=int(young.sum()),
        headline_direct=int((headline & (rows["type"] != "indirect")).sum()),
        ages=patients.SHAPE_AGES,
        shares=patients.SHAPE_SHARES,
        turns=tuple(
            (turn, "up" if change > 0 else "down")
            for turn, change in zip(shape.turns, shape.changes, strict=True)
        ),
        crossings={f"{t:g}": round(shape.crossing(t), 3) for t in (0.05, 0.10, 0.20, 0.30)},
        hospital_logits={h.name: h.logit for h in HOSPITALS},
        humps=(0.0, float(ages[ages > 50][density[ages > 50].argmax()])),
        trough=float(ages[between][density[between].argmin()]),
        by_hospital={h.name: n for h, n in zip(HOSPITALS, counts, strict=True)},
        outcomes=outcomes_truth(rows),
        notes=tuple(notes),
        planted=tuple(planted),
    )
