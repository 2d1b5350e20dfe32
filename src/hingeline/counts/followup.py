"""Cases to the follow-up tally: strata by days followed, outcome and number, with the patients behind them.

Rows of ``cases.parquet`` and how time is reckoned come in, a `FollowUpTally` goes out. It is a tally of patient
patterns like any other, counted where the rows are; groins without follow-up are in it and in no row for an estimator.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Final

import pyarrow as pa
import pyarrow.compute as pc

from .. import wording
from ..errors import HingelineError
from .bins import DEFAULT_HALF_YEARS_TO, DEFAULT_HIGHEST
from .cells import combine
from .counting import ROWS_A_PASS, Progress, count_patterns
from .followup_fields import NONE, NOT_AT_RISK, WITHOUT, Deaths, Endpoint, FollowUp, Until
from .followup_rows import FollowUpRows, follow_up_rows
from .tally import PatternTally, pool

FOLLOW_UP_STRATA: Final = ("hospital", "sex", "occurrence", "reason", "type", "repair", "approach")
NEEDED: Final = ("outcome", "followed_days")


@dataclass(frozen=True)
class FollowUpTally:
    """Counts of groins by strata, days followed and outcome, and of patients by pattern.

    Attributes
    ----------
    tally : PatternTally
        Its dimensions are the strata and ``outcome`` ("censored", "event", "death", "without", and for the other
        groin "not at risk"), ``followed_days`` and, where counted, ``well_days`` and ``found_again``.
    how : FollowUp
        How time was reckoned.
    patients : bool
        Whether patients were counted, or cells alone.
    """

    tally: PatternTally
    how: FollowUp
    patients: bool = True

    @property
    def strata(self) -> tuple[str, ...]:
        """The dimensions beside outcome and days."""
        return tuple(name for name in self.tally.by if name not in (*NEEDED, "well_days"))

    @property
    def n_groins(self) -> int:
        """Groins counted, with follow-up or without."""
        return self.tally.n_groins

    @property
    def n_followed(self) -> int:
        """Groins with follow-up."""
        return self.n_groins - self._n(WITHOUT) - self._n(NOT_AT_RISK)

    @property
    def n_without(self) -> int:
        """Groins without follow-up: never counted as free of the event."""
        return self._n(WITHOUT)

    @property
    def n_not_at_risk(self) -> int:
        """Groins whose other side had been operated already; none for recurrences."""
        return self._n(NOT_AT_RISK)

    def where(self, **conditions: Any) -> FollowUpTally:
        """Restrict as `PatternTally.where`."""
        return FollowUpTally(self.tally.where(**conditions), self.how, self.patients)

    def coarsen(self, strata: Sequence[str]) -> FollowUpTally:
        """Forget the strata that are not named; days and outcome stay."""
        kept = tuple(name for name in (*NEEDED, "well_days") if name in self.tally.by and name not in strata)
        return FollowUpTally(self.tally.coarsen((*strata, *kept)), self.how, self.patients)

    def without(self, by: Sequence[str] = ()) -> pa.Table:
        """Count the groins without follow-up: the dimensions, ``n`` of them and ``of`` all at risk in the stratum."""
        return self._apart(WITHOUT, by)

    def rows(self, strata: Sequence[str] | None = None) -> FollowUpRows:
        """Give the rows that estimators of follow-up take.

        Parameters
        ----------
        strata : sequence of str, optional
            Dimensions kept apart beside the age bin; all by default. Fewer make fewer rows.
        """
        chosen = self if strata is None else self.coarsen(strata)
        return follow_up_rows(chosen.tally, self.patients)

    def to_frame(self) -> pa.Table:
        """Return the cells."""
        return self.tally.to_frame()

    def __str__(self) -> str:
        rows = self.rows(())
        told = wording.follow_up_tally(
            rows.n_groins, rows.n_events, rows.n_deaths, self.n_without, rows.person_years
        )
        return f"{told} ({self.how})"

    def save(self, folder: Path) -> None:
        """Write the tally; `load` needs to be told how time was reckoned."""
        self.tally.save(folder)

    @classmethod
    def load(cls, folder: Path, how: FollowUp) -> FollowUpTally:
        """Read what `save` wrote."""
        tally = PatternTally.load(folder)
        if not set(NEEDED) <= set(tally.by):
            raise HingelineError(
                "The tally has no follow-up", str(folder), "Run 'hingeline run' to count again."
            )
        return cls(tally, how, bool(tally.n_patterns) or not tally.n_groins)

    def _n(self, outcome: str) -> int:
        cells = self.tally.cells
        return int(pc.sum(cells["n"].filter(pc.equal(cells["outcome"], pa.scalar(outcome)))).as_py() or 0)

    def _apart(self, outcome: str, by: Sequence[str]) -> pa.Table:
        """Count one outcome by strata, beside all that are at risk."""
        table = self.tally.margin((*by, "outcome"))
        held = pc.equal(table["outcome"], pa.scalar(outcome))
        at_risk = table.filter(pc.not_equal(table["outcome"], pa.scalar(NOT_AT_RISK)))
        if outcome != NOT_AT_RISK:
            table, held = at_risk, pc.equal(at_risk["outcome"], pa.scalar(outcome))
        n = pc.if_else(held, table["n"], 0)
        table = table.select(list(by)).append_column("n", n).append_column("of", table["n"])
        return _summed(table, by)


def count_followup(
    cases: Path | str | Sequence[Path | str] | Any,
    *,
    by: Sequence[str] = FOLLOW_UP_STRATA,
    cutoff: date,
    endpoint: Endpoint = "recurrence",
    until: Until = "last visit",
    deaths: Deaths = "seen",
    age_limits: Mapping[str, float] | None = None,
    half_years_to: int = DEFAULT_HALF_YEARS_TO,
    highest: int = DEFAULT_HIGHEST,
    memory_limit: str | None = None,
    spill_in: Path | None = None,
    threads: int | None = None,
    rows_a_pass: int = ROWS_A_PASS,
    progress: Progress | None = None,
    patients: bool = True,
) -> FollowUpTally:
    """Count cases by what became of them.

    Parameters
    ----------
    cases : path, sequence of paths, pyarrow.Table or native relation
        As for `count_patterns`.
    by : sequence of str
        Strata: fields of a case, ``operated_year``, ``well_days`` (for events, the last day known to be well) and
        ``found_again`` (type found when the groin was operated again).
    cutoff, endpoint, until, deaths, age_limits
        How time is reckoned; see `FollowUp`.
    half_years_to, highest : int
        Age bins; with ``0`` and ``1`` hardly any, when ages do not matter.
    memory_limit, spill_in, threads, rows_a_pass, progress
        As for `count_patterns`.
    patients : bool
        Without it only cells are counted, for very many rows: estimates are the same, robust errors cannot be had.

    Returns
    -------
    FollowUpTally
        Integers only, in an order that does not depend on the order of the rows.

    Raises
    ------
    HingelineError
        As `count_patterns`, and when time is to be reckoned in a way that there is not.
    """
    how = FollowUp(cutoff, endpoint, until, deaths, dict(age_limits or {}))
    wanted = (*by, *(name for name in NEEDED if name not in by))
    tally = count_patterns(
        cases,
        by=wanted,
        half_years_to=half_years_to,
        highest=highest,
        memory_limit=memory_limit,
        spill_in=spill_in,
        threads=threads,
        rows_a_pass=rows_a_pass,
        progress=progress,
        derived=how.derived(wanted),
        patients=patients,
    )
    return FollowUpTally(tally, how, patients)


def pool_followup(tallies: Sequence[FollowUpTally]) -> FollowUpTally:
    """Add follow-up tallies of different patients; exact, and the same in any order.

    Raises
    ------
    HingelineError
        When time was reckoned or cases were counted differently, or there are none.
    """
    if len({(str(tally.how), tally.how.deaths, tally.patients) for tally in tallies}) > 1:
        raise HingelineError(
            "Follow-up that was reckoned in different ways cannot be added",
            "the tallies",
            "Count all of them to the same endpoint, in the same way and to the same cut-off.",
        )
    pooled = pool([tally.tally for tally in tallies])
    return FollowUpTally(pooled, tallies[0].how, tallies[0].patients)


def reoperations(
    tally: FollowUpTally, by: Sequence[str] = ("reason", "repair", "approach", "type")
) -> pa.Table:
    """Count the type found when a groin was operated again, by what had been done to it.

    Direct after a ligation: the floor failed; indirect: the sac failed. Reasons stand apart, so that a
    processus closed in passing and a hydrocele are never mixed with hernias.

    Parameters
    ----------
    tally : FollowUpTally
        Counted by ``found_again`` and by these.
    by : sequence of str

    Returns
    -------
    pyarrow.Table
        The dimensions, ``found_again`` and ``n``; groins not operated again are left out.
    """
    table = tally.tally.margin((*by, "found_again"))
    again = pc.not_equal(table["found_again"], pa.scalar(NONE))
    return table.filter(again).select([*by, "found_again", "n"])


def _summed(table: pa.Table, by: Sequence[str]) -> pa.Table:
    summed, _ = combine(table, by, ("n", "of"))
    return summed.drop_columns(["cell"])
