"""Days followed and what ended them, as lazy expressions over a case's dates.

A lazy frame of cases comes in; with ``outcome``, ``followed_days``, ``well_days`` and ``found_again`` it goes out.
All are whole days from the operation, so that every engine gives the same; the rules are those of `FollowUp`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Final, Literal

import narwhals as nw
import numpy as np

from .. import wording
from ..errors import HingelineError
from .bins import QUARTERS_PER_YEAR, whole
from .counting import Derived, Frame

Endpoint = Literal["recurrence", "other groin"]
Until = Literal["last visit", "age limit", "cut-off"]
Deaths = Literal["seen", "known"]

EVENT_ON: Final[dict[str, str]] = {"recurrence": "recurred_on", "other groin": "other_groin_on"}
UNTILS: Final = ("last visit", "age limit", "cut-off")
DEATHS: Final = ("seen", "known")
OUTCOMES: Final = ("censored", "event", "death")
"""What ended a groin's follow-up, in the order of the numbers that estimators take."""
WITHOUT: Final = "without"
NOT_AT_RISK: Final = "not at risk"
NONE: Final = "none"
"""What stands in ``found_again`` where the groin was not operated again, or the type is not told."""
FOLLOW_DIMENSIONS: Final = ("outcome", "followed_days", "well_days", "found_again")

EPOCH: Final = date(1970, 1, 1)


@dataclass(frozen=True)
class FollowUp:
    """How time is reckoned.

    Attributes
    ----------
    cutoff : datetime.date
        Data cut-off; nothing is known after it.
    endpoint : {"recurrence", "other groin"}
        A recurrence in the operated groin, or a later hernia of the other one.
    until : {"last visit", "age limit", "cut-off"}
        Until when a groin counts as well of which no event is known. "last visit": until it was last seen or
        heard of; a groin never heard of is without follow-up and contributes no time. "age limit": until the
        patient outgrew the hospital, died, or the cut-off, or later when seen later. "cut-off": until death or
        the cut-off. The first is what was observed; the others bound what assuming the best does.
    deaths : {"seen", "known"}
        Under "last visit", whether a death after the last visit counts. "seen": no; from the last visit on nothing
        is known of the groin, and following the dead for longer than the living would thin out the recurrences.
        "known": a registry's death ends follow-up at the death, the groin taken as well until then.
    age_limits : mapping of str to float
        By hospital, the age in years at which patients are handed on; a hospital not named keeps them.

    Notes
    -----
    A known event counts at its date whatever the last visit was: it extends follow-up. An event comes before a
    death on the same day, and after a death it does not count. What lies after the cut-off is not known;
    an event after it shows the groin well until then. A date before the operation is taken as not told.
    """

    cutoff: date
    endpoint: Endpoint = "recurrence"
    until: Until = "last visit"
    deaths: Deaths = "seen"
    age_limits: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for name, choices in (("endpoint", tuple(EVENT_ON)), ("until", UNTILS), ("deaths", DEATHS)):
            if getattr(self, name) not in choices:
                raise HingelineError(
                    f"Follow-up cannot be reckoned by {name} {getattr(self, name)!r}",
                    name,
                    f"Choose among {wording.listed([repr(choice) for choice in choices])}.",
                )

    def __str__(self) -> str:
        return wording.follow_up(self.endpoint, self.until, self.cutoff)

    def derived(self, by: Sequence[str] = FOLLOW_DIMENSIONS) -> Derived:
        """Return the dimensions that follow-up adds to a case, those of them that are counted by."""
        fields = ["operated_on", "followed_until", "died_on", EVENT_ON[self.endpoint]]
        if self._tells_well(by):
            fields += ["last_well_on"]
        if "found_again" in by:
            fields += ["reoperation_type"]
        if self.until == "age limit":
            fields += ["hospital", "age_days"]
        if self.endpoint == "other groin":
            fields += ["side"]
        return Derived(FOLLOW_DIMENSIONS, tuple(fields), lambda frame: self._add(frame, by))

    def _tells_well(self, by: Sequence[str]) -> bool:
        return "well_days" in by and self.endpoint == "recurrence"

    def _add(self, frame: Frame, by: Sequence[str]) -> Frame:
        from_operation = _from_operation(frame)
        event = EVENT_ON[self.endpoint]
        frame = frame.with_columns(
            from_operation(nw.col(event)).alias("_event"),
            from_operation(nw.col("followed_until")).alias("_seen"),
            from_operation(nw.col("died_on")).alias("_death"),
            from_operation(nw.lit(self.cutoff)).alias("_cutoff"),
            (from_operation(nw.col("last_well_on")) if self._tells_well(by) else nw.lit(0)).alias("_well"),
        )
        if self.endpoint == "other groin":
            frame = _with_other_side(frame)
        names = ("_event", "_seen", "_death", "_well", "_cutoff")
        frame = frame.with_columns(
            *(nw.when(nw.col(name) >= 0).then(nw.col(name)).alias(name) for name in names)
        )
        frame = frame.with_columns(self._end().alias("_end"))
        event_days, death, end = nw.col("_event"), nw.col("_death"), nw.col("_end")
        is_event = (event_days <= end) & (death.is_null() | (event_days <= death))
        is_death = death <= end
        outcome = (
            nw.when(end.is_null())
            .then(nw.lit(WITHOUT))
            .otherwise(
                nw.when(is_event)
                .then(nw.lit("event"))
                .otherwise(nw.when(is_death).then(nw.lit("death")).otherwise(nw.lit("censored")))
            )
        )
        followed = nw.when(is_event).then(event_days).otherwise(nw.when(is_death).then(death).otherwise(end))
        well = nw.min_horizontal(nw.col("_well").fill_null(0), event_days - 1)
        well = nw.max_horizontal(well, nw.lit(0))
        if self.endpoint == "other groin":
            # where both groins were operated by then, the other one has no first hernia to come
            before = nw.col("_other_before")
            outcome = nw.when(before).then(nw.lit(NOT_AT_RISK)).otherwise(outcome)
            followed = nw.when(~before).then(followed)
        frame = frame.with_columns(
            outcome.alias("outcome"),
            followed.cast(nw.Int32).alias("followed_days"),
            well.alias("_well"),
        ).with_columns(
            nw.when(nw.col("outcome") == "event").then(nw.col("_well")).cast(nw.Int32).alias("well_days")
        )
        if "found_again" not in by:
            return frame
        return frame.with_columns(nw.col("reoperation_type").fill_null(NONE).alias("found_again"))

    def _end(self) -> nw.Expr:
        """Day on which follow-up ends when nothing has ended it before; null where there is none."""
        event, seen, death, cutoff = (nw.col(name) for name in ("_event", "_seen", "_death", "_cutoff"))
        last = nw.max_horizontal(event, seen)
        if self.until == "cut-off":
            end = cutoff
        elif self.until == "age limit":
            end = nw.max_horizontal(nw.min_horizontal(self._days_to_limit(), cutoff), last)
        elif self.deaths == "known":
            end = (
                nw.when(last.is_null() | ~event.is_null())
                .then(last)
                .otherwise(nw.max_horizontal(last, death))
            )
        else:
            end = last
        # an operation after the cut-off, or without a date, has no follow-up at all
        return nw.when(~cutoff.is_null() & ~end.is_null()).then(nw.min_horizontal(end, cutoff))

    def _days_to_limit(self) -> nw.Expr:
        limit: nw.Expr = nw.lit(None, dtype=nw.Int64)
        for hospital, years in self.age_limits.items():
            if np.isfinite(years):
                # first whole day at or above the age, as the edges of the age bins are
                first = -int(np.floor(-years * QUARTERS_PER_YEAR / 4))
                days = nw.max_horizontal(nw.lit(first) - nw.col("age_days").cast(nw.Int64), nw.lit(0))
                limit = nw.when(nw.col("hospital") == hospital).then(days).otherwise(limit)
        return limit


def _with_other_side(frame: Frame) -> Frame:
    """Say of each groin whether the patient's other one had been operated by that day."""
    frame = frame.with_columns(
        nw.when(nw.col("side") == "left").then(nw.col("operated_on")).alias("_left"),
        nw.when(nw.col("side") == "right").then(nw.col("operated_on")).alias("_right"),
    ).with_columns(
        nw.col("_left").min().over("patient").alias("_first_left"),
        nw.col("_right").min().over("patient").alias("_first_right"),
    )
    operated = nw.col("operated_on")
    before = (
        nw.when(nw.col("side") == "left")
        .then(nw.col("_first_right") <= operated)
        .otherwise(nw.col("_first_left") <= operated)
    )
    return frame.with_columns(before.fill_null(False).alias("_other_before"))


def _from_operation(frame: Frame) -> Any:
    """Return what gives the days from a case's operation to a date, in the words of the frame's engine."""
    number = _subtracted if frame.implementation.is_duckdb() else day_number
    return lambda when: number(when) - number(nw.col("operated_on"))


def _subtracted(when: nw.Expr) -> nw.Expr:
    days: nw.Expr = when - nw.lit(EPOCH)
    return days


def day_number(when: nw.Expr) -> nw.Expr:
    """Number a day of the Gregorian calendar without subtracting dates, which engines answer in different kinds."""
    before = when.dt.year().cast(nw.Int64) - 1
    leap = whole(before, 4) - whole(before, 100) + whole(before, 400)
    return 365 * before + leap + when.dt.ordinal_day().cast(nw.Int64)
