"""Legends: how to read one hospital's export. A TOML file comes in, a frozen `Legend` goes out.

A legend maps the columns, value codes, date orders and units of one hospital's files to the case fields of
`hingeline.vocabulary`; nothing about a hospital is known anywhere else. The whole format::

    hospital = "Alder Vale"         # required: the hospital's name in the protocol
    form = "operations"             # required: "operations" (a row is an operation) or "patients" (a row is a
                                    #           patient, with left and right columns)

    [file]                          # all optional: what is not given is detected, and said
    sheet = "Operations"            # XLSX: the sheet's name
    header_row = 3                  # the row that holds the column names, as a spreadsheet counts (from 1)
    encoding = "cp1252"             # CSV: "utf-8", "cp1252", "latin-1", "utf-16", ...
    delimiter = ";"                 # CSV: one character, or "tab"
    decimal = ","                   # "." or ","
    blanks = ["n.k.", "99"]         # further words for an empty cell (always: nothing, NA, N/A, NULL, -, –)

    [dates]
    order = "dmy"                   # "dmy", "mdy" or "ymd", for dates written as text; optional when the file
                                    # settles it. Year-first dates and true dates need no order

    [drop]                          # columns of identifiers, which intake forgets unread; it stops at such a
    columns = ["Name", "Telephone"] # column until it is listed here (listing an absent one does no harm)
    reason = "identifiers"          # optional

    [fields.patient]                # required: the hospital's own patient key; only its keyed hash is kept
    column = "Pat. no."

    [fields.age]                    # age at operation, or [fields.born_on] and [fields.operated_on], or all
    column = "Age"                  # three (dates win where both can be read)
    unit = "years"                  # required: "years", "months", "weeks" or "days"; a cell may say its own,
                                    # such as "3 months" or "5 y"

    [fields.born_on]                # date of birth: becomes an age and never leaves intake
    column = "DOB"
    order = "mdy"                   # optional, any date field: its own order

    [fields.operated_on]
    column = "Date of operation"

    [fields.sex]                    # required: "male" or "female"
    column = "Sex"
    codes = { "1" = "male", "2" = "female" }

    [fields.side]                   # required when form = "operations": "left", "right" or "both" (bilateral:
    column = "Side"                 # two cases of one patient)
    codes = { "L" = "left", "R" = "right", "B" = "both" }

    [fields.type]                   # type, or ehs, or both (type wins, ehs fills its gaps)
    column = "Finding"
    codes = { "lat." = "indirect", "med." = "direct", "pantaloon" = "combined", "?" = "" }

    [fields.ehs]                    # European Hernia Society codes (PL2, RM1, PL1M1, LxM2): occurrence, type
    column = "EHS"                  # and size, each where its own field is not mapped or is empty

    [fields.gestation_weeks]        # weeks of gestation at birth ("34", "34+2"): born preterm, corrected age
    column = "GA"

    [fields.approach]               # any further field of the vocabulary, by its name there:
    value = "laparoscopic"          # a constant in place of a column

    [fields.recurrence_known_by]
    column = "Found by"
    codes = { "clinic" = "examined", "phone" = "telephone" }

    [fields.infection]              # yes or no; understood without codes: yes/no, y/n, true/false, 1/0
    column = "Wound infection"
    codes = { "J" = true, "N" = false }
    blank = false                   # what an empty cell means; without it: not known, or the vocabulary's
                                    # default for the field (an empty ``occurrence`` is "primary")

    [fields.height_cm]              # units: height_cm "cm" "m"; weight_kg "kg" "g"; ring_mm "mm" "cm";
    column = "Height"               # gestation_weeks "weeks" "days"
    unit = "m"

When ``form = "patients"``, what belongs to a groin stands in ``[left.*]`` and ``[right.*]``, with the same
keys; ``[fields.side]`` is left out, and whatever both sides share stays in ``[fields.*]``::

    [left.type]
    column = "Left: type"
    codes = { "0" = "absent", "I" = "indirect", "D" = "direct" }

    [right.type]
    column = "Right: type"
    codes = { "0" = "absent", "I" = "indirect", "D" = "direct" }

    [left.operated_on]
    column = "Left: date"

Operation notes, and visits that are kept apart from the operations::

    [fields.note]                   # the operation note in free text: read for type, side, repair, approach and
    column = "Report"               # how the type was known, wherever the field's own column is not mapped or its
                                    # cell is empty. With a note, type and side need no column of their own

    [fields.mesh_used]              # yes or no: whether a mesh was implanted
    column = "Mesh"

    [follow_up]                     # visits: in files of their own, by patterns of their names, or, when files is
    files = ["clinic*.csv"]         # left out, in another sheet of the file of operations

    [follow_up.file]                # as [file]
    sheet = "Clinic"

    [follow_up.fields.patient]      # joins a visit to its operations; where there is no key: born_on, sex and
    column = "Pat. no."             # operated_on, all three

    [follow_up.fields.seen_on]      # date of the visit
    column = "Seen"

    [follow_up.fields.recurred]     # yes or no at this visit; or recurred_on, with its own date. Likewise
    column = "Recurrence"           # other_groin or other_groin_on; further: side, recurrence_known_by,
                                    # reoperation_type, died_on, chronic_pain and the complications

A proposed legend marks with ``confirm = "…"`` what a person has to look at; it is refused until those lines are gone.
``header_rows = 2`` in ``[file]`` joins names that stand in two rows ("Operation" over "Date"); ``header_row = 0``
says that there are no names at all: the columns are then A, B, C as a spreadsheet letters them. Without a patient key,
``born_on``, ``sex`` and ``operated_on`` tell one person from another.

A side is a groin when any of its own columns holds something, unless a code of the side means ``"absent"``.

**Codes.** A cell is compared with the codes after trimming and without regard to case or repeated blanks; the
vocabulary's own words (``left``, ``indirect``) are understood without codes. A code that means ``""`` is
known to say nothing. One column may serve several fields (``TAPP`` is a repair and an approach). Numbers as
codes are written as text: ``"1" = "male"``; a spreadsheet's 1.0 is ``1``.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from pathlib import Path

from pydantic import BaseModel, ValidationError

from ..errors import HingelineError
from ..protocol.lines import lines_of
from .legend_checks import check_legend, unknown_key
from .legend_model import Dates, Drop, FileOptions, FollowUp, Legend, Mapped, fold, place_of

__all__ = [
    "Dates",
    "Drop",
    "FileOptions",
    "FollowUp",
    "Legend",
    "Mapped",
    "legend_from_text",
    "read_legend",
    "read_legends",
]


def read_legend(path: Path | str) -> Legend:
    """Read one hospital's legend.

    Parameters
    ----------
    path : Path or str
        A TOML file; the module describes the format.

    Raises
    ------
    HingelineError
        When it cannot be read, is no TOML, or says something that cannot be: with its file and line.
    """
    path = Path(path)
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise HingelineError(
            f"The legend cannot be opened ({error.strerror or error})",
            str(path),
            "Give the path of a readable file",
        ) from None
    except UnicodeDecodeError:
        raise HingelineError("The legend is not UTF-8 text", str(path), "Save the legend as UTF-8") from None
    return legend_from_text(text, path)


def read_legends(paths: Iterable[Path | str]) -> tuple[Legend, ...]:
    """Read the legends of a study; two for one hospital are an error."""
    seen: dict[str, Legend] = {}
    for path in paths:
        legend = read_legend(path)
        other = seen.setdefault(fold(legend.hospital), legend)
        if other is not legend:
            raise HingelineError(
                f"Two legends are for one hospital, {legend.hospital}",
                f"{other.where('hospital')} and {legend.where('hospital')}",
                "Keep one legend a hospital, or correct the hospital's name in one of them",
            )
    return tuple(seen.values())


def legend_from_text(text: str, path: Path | None = None) -> Legend:
    """Make a legend of TOML text; `path` is only for messages."""
    lines = {".".join(map(str, place)): line for place, line in lines_of(text).at.items()}
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found = re.search(r"line (\d+)", str(error))
        # At the end of the text the parser names no line.
        line = f", line {found.group(1) if found else len(text.splitlines())}"
        twice = re.search(r"overwrite|twice|mutate", str(error))
        raise HingelineError(
            "This line says again what already stands further up"
            if twice
            else "Something is missing or too much on this line, often a quotation mark, { or =",
            f"{path or 'legend'}{line}",
            "Keep one of the two" if twice else "Correct that line",
        ) from None
    for inner in ("path", "lines"):
        if inner in content:
            raise unknown_key(path, lines, inner, Legend.model_fields)
    try:
        legend = Legend.model_validate({**content, "path": path, "lines": lines})
    except ValidationError as error:
        raise _from_pydantic(error, path, lines) from None
    check_legend(legend)
    return legend


def _from_pydantic(error: ValidationError, path: Path | None, lines: Mapping[str, int]) -> HingelineError:
    # A key that is not known often explains one that is missing.
    errors = error.errors()
    first = next((one for one in errors if one["type"] == "extra_forbidden"), errors[0])
    loc = [str(part) for part in first["loc"]]
    key = ".".join(loc)
    if first["type"] == "extra_forbidden":
        known: Iterable[str] = Legend.model_fields
        tables: dict[str, type[BaseModel]] = {"file": FileOptions, "dates": Dates, "drop": Drop}
        inner = loc[1:] if loc[0] == "follow_up" else loc
        if len(inner) == 3:
            known = Mapped.model_fields
        elif len(inner) == 2:
            known = tables[inner[0]].model_fields
        elif inner is not loc:
            known = FollowUp.model_fields
        return unknown_key(path, lines, key, known)
    if first["type"] == "missing":
        return HingelineError(f"The legend does not say {key}", place_of(path, lines, ""), f"Add {key}")
    message = first["msg"].removeprefix("Value error, ")
    return HingelineError(f"{key}: {message}", place_of(path, lines, key), "Correct this line")
