"""Visits after the operation, of a hospital that keeps them on a sheet of their own.

Groins with their follow-up come in, rows of visits go out: several a patient, the last on the day until which the
groin was followed, a recurrence told with yes or no. Dice of their own, so that nothing else is drawn otherwise.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final

import numpy as np

from hingeline.invented.outcomes import NO_DATE, Rows

EARLIER: Final = (0, 0, 1, 1, 2, 3)
"""Visits before the last one, each as likely."""

NOTICED_SHARE: Final = 0.3
"""Share of recurrences told at a later visit, with the date at which they were noticed."""

SIDED_SHARE: Final = 0.3
"""Share of patients with one groin whose visits tell its side all the same."""


@dataclass(frozen=True)
class Visit:
    """One visit of one patient, of one groin or of both.

    Attributes
    ----------
    patient : int
    sex : str
    born_on, seen_on : date
    side : str
        "left", "right", "both" or "" where it is not told.
    recurred : str
        "yes" or "no".
    recurred_on : date or None
        When it was noticed, where that was before the visit.
    recurrence_known_by, reoperation_type, chronic_pain : str
    infection : str
        "yes", or "" where nothing is said of the wound.
    died_on : date or None
    """

    patient: int
    sex: str
    born_on: date
    seen_on: date
    side: str = ""
    recurred: str = "no"
    recurred_on: date | None = None
    recurrence_known_by: str = ""
    reoperation_type: str = ""
    chronic_pain: str = ""
    infection: str = ""
    died_on: date | None = None


def draw_visits(rows: Rows, seed: int) -> list[Visit]:
    """Draw the visits of one hospital's groins.

    Parameters
    ----------
    rows : Rows
        Sound groins.
    seed : int

    Returns
    -------
    list of Visit
        In the order of their days.
    """
    dice = random.Random(f"visits {seed}")
    patients: dict[int, list[dict[str, Any]]] = {}
    columns = {name: rows[name].tolist() for name in _USED}
    for cells in zip(*columns.values(), strict=True):
        groin = dict(zip(columns, cells, strict=True))
        patients.setdefault(groin["patient"], []).append(groin)
    made: list[Visit] = []
    for groins in patients.values():
        two = len({groin["side"] for groin in groins}) == 2
        sided = two or dice.random() < SIDED_SHARE
        drawn: dict[tuple[date, ...], list[date]] = {}
        found: list[Visit] = []
        for groin in groins:
            found += _of_groin(groin, groins, sided, drawn, dice)
        made += _shared(found) if two else found
    return sorted(made, key=lambda visit: (visit.seen_on, visit.patient, visit.side))


_USED: Final = (
    "patient",
    "sex",
    "born_on",
    "operated_on",
    "side",
    "followed_until",
    "recurred_on",
    "recurrence_known_by",
    "reoperation_type",
    "chronic_pain",
    "infection",
)


def _of_groin(
    groin: dict[str, Any],
    groins: list[dict[str, Any]],
    sided: bool,
    drawn: dict[tuple[date, ...], list[date]],
    dice: random.Random,
) -> list[Visit]:
    """Visits of one groin; `drawn` keeps the days of a patient's earlier ones, so that two groins share them."""
    until, recurred_on, operated = groin["followed_until"], groin["recurred_on"], groin["operated_on"]
    if until is None:
        return []
    again = min(
        (
            one["operated_on"]
            for one in groins
            if one["side"] == groin["side"] and one["operated_on"] > operated
        ),
        default=None,
    )
    span = (operated, until)
    if span not in drawn:
        length = (until - operated).days
        many = dice.choice(EARLIER) if length > 60 else 0
        drawn[span] = sorted(operated + timedelta(dice.randrange(14, length)) for _ in range(many))
    days = {*drawn[span], until}
    noticed = None
    if recurred_on is not None:
        if until > recurred_on and again is None and dice.random() < NOTICED_SHARE:
            noticed = recurred_on
        else:
            days.add(recurred_on)
    side = groin["side"] if sided else ""
    visits: list[Visit] = []
    for day in sorted(days):
        if again is not None and day >= again and day != recurred_on:
            continue  # a visit after the next operation would be of that one
        back = recurred_on is not None and day >= recurred_on
        first = back and not any(visit.recurred == "yes" for visit in visits)
        visits.append(
            Visit(
                patient=groin["patient"],
                sex=groin["sex"],
                born_on=groin["born_on"],
                seen_on=day,
                side=side,
                recurred="yes" if back else "no",
                recurred_on=noticed if back else None,
                recurrence_known_by=groin["recurrence_known_by"] if first else "",
                reoperation_type=groin["reoperation_type"] if first else "",
                chronic_pain=groin["chronic_pain"] if day == max(days) else "",
                infection="yes" if groin["infection"] and not visits else "",
            )
        )
    return visits


def _shared(visits: list[Visit]) -> list[Visit]:
    """Visits of a patient's two groins that tell the same become one of both."""
    by_telling: dict[tuple[object, ...], list[Visit]] = {}
    for visit in visits:
        telling = (visit.seen_on, visit.recurred, visit.recurred_on, visit.recurrence_known_by)
        found = (visit.reoperation_type, visit.chronic_pain, visit.infection)
        by_telling.setdefault((*telling, *found), []).append(visit)
    made = []
    for alike in by_telling.values():
        sides = {visit.side for visit in alike}
        first = alike[0]
        made.append(first if len(sides) == 1 else Visit(**{**vars(first), "side": "both"}))
    return made


def as_rows(visits: list[Visit]) -> Rows:
    """Visits as columns."""
    columns: Rows = {}
    for name in Visit.__annotations__:
        cells = [getattr(visit, name) for visit in visits]
        if name in ("born_on", "seen_on", "recurred_on", "died_on"):
            columns[name] = np.array([NO_DATE if cell is None else cell for cell in cells], "datetime64[D]")
        else:
            columns[name] = np.array(cells)
    return columns
