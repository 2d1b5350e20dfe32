"""The cells of an export: rows in the trade's words come in, columns in a hospital's own words go out.

A planted fault's raw text replaces the cell that its field fills.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from hingeline.invented.faults import Fault
from hingeline.invented.outcomes import Rows, days
from hingeline.vocabulary import DAYS_PER_MONTH, DAYS_PER_YEAR

Cells = NDArray[np.object_]
"""Text, numbers, dates or None; one entry a row."""

FIRST_SHEET_DATE: Final = dt.date(1900, 3, 1)
"""A spreadsheet counts days from 1900 and has a leap day too many before this one: earlier dates are text."""


@dataclass(frozen=True)
class Sheet:
    """Rows of one hospital with the faults planted among them."""

    rows: Rows
    faults: Sequence[Fault]

    def __len__(self) -> int:
        return len(self.rows["side"])

    def texts(self, field: str) -> Cells:
        """A field of free text, as it is."""
        return self._with_faults(field, self.rows[field].astype(object))

    def words(self, field: str, own: Mapping[str, str]) -> Cells:
        """A coded field in the hospital's own words; a word without one of its own is left empty."""
        values, where = np.unique(self.rows[field].astype(str), return_inverse=True)
        table = np.array([own.get(value) or None for value in values.tolist()], dtype=object)
        return self._with_faults(field, table[where])

    def flags(self, field: str, yes: object, no: object) -> Cells:
        """A field of true and false."""
        return np.where(self.rows[field], np.array(yes, dtype=object), np.array(no, dtype=object))

    def dates(self, field: str, style: str = "iso") -> Cells:
        """A date as text: "iso", "dmy." for 31.12.2020 or "dmy/"; "date" keeps it a date."""
        return self._with_faults(field, dated(self.rows[field], style))

    def key(self, prefix: str, width: int) -> Cells:
        """The hospital's own patient number."""
        keys = [f"{prefix}{n:0{width}d}" for n in self.rows["patient"].tolist()]
        return self._with_faults("patient", np.array(keys, dtype=object))

    def surgeon(self, prefix: str) -> Cells:
        """The surgeon's code."""
        codes = [f"{prefix}{n:02d}" for n in self.rows["surgeon"].tolist()]
        return self._with_faults("surgeon", np.array(codes, dtype=object))

    def numbers(self, field: str, digits: int = 0, decimal: str = ".") -> Cells:
        """A number as text; not a number is empty."""
        text = [
            None if np.isnan(x) else f"{x:.{digits}f}".replace(".", decimal)
            for x in self.rows[field].tolist()
        ]
        return self._with_faults(field, np.array(text, dtype=object))

    def measures(self, field: str) -> Cells:
        """A number as a number; not a number is empty."""
        numbers = [None if np.isnan(x) else x for x in self.rows[field].tolist()]
        return self._with_faults(field, np.array(numbers, dtype=object))

    def age(self, unit: str) -> Cells:
        """Completed years or months at operation, as text."""
        one = days([{"years": DAYS_PER_YEAR, "months": DAYS_PER_MONTH}[unit] * 100])[0].astype(int) / 100
        lived = (self.rows["operated_on"] - self.rows["born_on"]).astype(np.int64)
        ages = [str(int(d // one)) if d >= 0 else None for d in lived.tolist()]
        return self._with_faults("age", np.array(ages, dtype=object))

    def ehs(self) -> Cells:
        """European Hernia Society code: P or R, then L, M or F with its size; combined has two."""
        letters = {"indirect": "L{}", "direct": "M{}", "combined": "L{}M1", "femoral": "F{}"}
        codes = [
            None if kind == "unknown" else once + letters[kind].format("" if np.isnan(size) else int(size))
            for kind, once, size in zip(
                self.rows["type"].tolist(),
                np.where(self.rows["occurrence"] == "recurrent", "R", "P").tolist(),
                self.rows["ehs_size"].tolist(),
                strict=True,
            )
        ]
        return self._with_faults("ehs", np.array(codes, dtype=object))

    def names(self, syllables: Sequence[str]) -> Cells:
        """Family names made of syllables: identifiers that a legend has to drop."""
        patient = self.rows["patient"]
        n = len(syllables)
        parts = np.array(syllables, dtype=object)
        first = np.array([part.capitalize() for part in syllables], dtype=object)
        made: Cells = first[patient % n] + parts[(patient // n) % n] + parts[(patient * 7 // 3) % n]
        return made

    def telephones(self) -> Cells:
        """Telephone numbers that no exchange has."""
        return np.array(
            [f"000 {n % 900 + 100} {n * 37 % 9000 + 1000}" for n in self.rows["patient"].tolist()], object
        )

    def _with_faults(self, field: str, cells: Cells) -> Cells:
        for fault in self.faults:
            if fault.raw is not None and fault.cell == field:
                cells[fault.index] = fault.raw or None
        return cells


def dated(dates: NDArray[Any], style: str) -> Cells:
    """Dates in a style of `Sheet.dates`; NaT is None."""
    if style == "date":
        return np.array(dates.astype("datetime64[D]").tolist(), dtype=object)
    values, where = np.unique(dates.astype("datetime64[D]"), return_inverse=True)
    iso = [None if text == "NaT" else text for text in np.datetime_as_string(values).tolist()]
    if style == "iso":
        told = iso
    else:
        told = [None if text is None else style[-1].join(reversed(text.split("-"))) for text in iso]
    return np.array(told, dtype=object)[where]
