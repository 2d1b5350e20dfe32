"""The catchment's person-years by age and sex, a tally that comes from outside the hospitals.

A small file comes in, a checked table goes out. Without it no rate is told, and two humps in pooled counts
may only mean that a children's and an adult hospital were pooled.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.csv

from ..errors import HingelineError
from ..vocabulary import SEXES

COLUMNS = ("sex", "age_from", "age_to", "person_years")


def read_population(path: Path) -> pa.Table:
    """Read person-years from a CSV with the columns sex, age_from, age_to and person_years.

    Parameters
    ----------
    path : Path

    Returns
    -------
    pyarrow.Table
        Columns sex (string), age_from, age_to (float64, years, the end excluded) and person_years (float64),
        sorted, one row a sex and age band.

    Raises
    ------
    HingelineError
        When the file cannot be read, lacks a column, or its bands overlap or run backwards.
    """
    try:
        table = pa.csv.read_csv(path)
    except (OSError, pa.ArrowInvalid) as error:
        raise HingelineError(
            f"The population file cannot be read: {str(error).splitlines()[0]}",
            str(path),
            f"Save it as a comma-separated file in UTF-8 with the columns {', '.join(COLUMNS)}.",
        ) from None
    absent = [name for name in COLUMNS if name not in table.column_names]
    if absent:
        raise HingelineError(
            f"The population file has no column {absent[0]!r}",
            f"{path}, header row",
            f"It needs the columns {', '.join(COLUMNS)}; sex is 'male' or 'female'.",
        )
    table = table.select(COLUMNS)
    try:
        numbers = {name: table[name].cast(pa.float64()) for name in COLUMNS[1:]}
    except pa.ArrowInvalid as error:
        raise HingelineError(
            f"The population holds something that is not a number: {error}",
            str(path),
            "Correct that cell.",
        ) from None
    table = pa.table({"sex": table["sex"].cast(pa.string()), **numbers})
    table = table.group_by(["sex", "age_from", "age_to"]).aggregate([("person_years", "sum")])
    table = table.rename_columns(list(COLUMNS)).sort_by([("sex", "ascending"), ("age_from", "ascending")])
    _check(table, path)
    return table


def _check(table: pa.Table, path: Path) -> None:
    sexes = [str(value) for value in table["sex"].to_pylist()]
    strange = sorted(set(sexes) - set(SEXES))
    if strange or table.num_rows == 0:
        raise HingelineError(
            f"The population file holds the sex {strange[0]!r}"
            if strange
            else "The population file is empty",
            str(path),
            "Write 'male' or 'female' in each row; leave totals out.",
        )
    if any(table[name].null_count for name in table.column_names):
        raise HingelineError("The population file has an empty cell", str(path), "Fill or remove that row.")
    for sex in sorted(set(sexes)):
        part = table.filter(pa.array([value == sex for value in sexes]))
        low, high = part["age_from"].to_numpy(), part["age_to"].to_numpy()
        years = part["person_years"].to_numpy()
        if np.any(high <= low) or np.any(low[1:] < high[:-1]) or np.any(years < 0):
            row = int(np.flatnonzero(np.r_[False, low[1:] < high[:-1]] | (high <= low) | (years < 0))[0])
            raise HingelineError(
                f"The age bands of the population overlap, run backwards or hold fewer than no people ({sex})",
                f"{path}, the band that starts at {low[row]} years",
                "Each band starts where the one before it ends; 'age_to' is the first age outside the band.",
            )
