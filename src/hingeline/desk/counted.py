"""The tallies of a study, counted once: reads of hospitals come in, tallies from the cache or the engine go out.

A tally lies in the cache under what it was counted from and by; a changed export, bin or cut-off counts again.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from ..errors import HingelineError
from ..protocol import Protocol
from .folder import Folder, discard, only_owner, sync
from .steps import HospitalRead, code_fingerprint, fingerprint

if TYPE_CHECKING:
    from ..answers.outcomes import OutcomeTallies
    from ..counts import FollowUpTally, PatternTally

Counted = TypeVar("Counted", "PatternTally", "FollowUpTally")


def tally_of(
    folder: Folder,
    protocol: Protocol,
    reads: Sequence[HospitalRead],
    by: Sequence[str] | None = None,
) -> PatternTally:
    """Count patient patterns over all hospitals by some dimensions (the usual ones), or find that done."""
    from ..counts import DEFAULT_DIMENSIONS, PatternTally, count_patterns

    by, ages = DEFAULT_DIMENSIONS if by is None else by, protocol.ages

    def count() -> PatternTally:
        files = [read.cases for read in reads]
        return count_patterns(
            files,
            by=by,
            half_years_to=ages.half_years_to,
            highest=ages.highest,
            spill_in=folder.hidden,
        )

    return _found_or_counted(folder, _entry(protocol, reads, list(by)), count, PatternTally.load)


def outcome_tallies(folder: Folder, protocol: Protocol, reads: Sequence[HospitalRead]) -> OutcomeTallies:
    """Follow the cases of all hospitals in each way of `OutcomeTallies`, or find that done."""
    from ..answers.outcomes import OUTCOMES_BY, WAYS, OutcomeTallies
    from ..counts import FollowUp

    limits = {hospital.name: hospital.takes_ages[1] for hospital in protocol.hospitals}
    return OutcomeTallies(
        **{
            name: _followed(
                folder,
                protocol,
                reads,
                _with_adjusted(by, protocol) if by is OUTCOMES_BY else by,
                FollowUp(protocol.study.cutoff, endpoint, until, age_limits=limits),
            )
            for name, (endpoint, until, by) in WAYS.items()
        }
    )


def _with_adjusted(by: Sequence[str], protocol: Protocol) -> tuple[str, ...]:
    """Add what the comparison of repairs adjusts for; ages are counted in any case."""
    return (*by, *(name for name in protocol.contrast.adjust if name != "age" and name not in by))


def _followed(
    folder: Folder, protocol: Protocol, reads: Sequence[HospitalRead], by: Sequence[str], how: Any
) -> FollowUpTally:
    from ..counts import FollowUpTally, count_followup

    def count() -> FollowUpTally:
        return count_followup(
            [read.cases for read in reads],
            by=by,
            cutoff=how.cutoff,
            endpoint=how.endpoint,
            until=how.until,
            age_limits=how.age_limits,
            half_years_to=protocol.ages.half_years_to,
            highest=protocol.ages.highest,
            spill_in=folder.hidden,
        )

    limits = sorted(how.age_limits.items())
    entry = _entry(protocol, reads, [list(by), how.endpoint, how.until, str(how.cutoff), limits])
    return _found_or_counted(folder, entry, count, lambda place: FollowUpTally.load(place, how))


def _found_or_counted(
    folder: Folder, entry: str, count: Callable[[], Counted], load: Callable[[Path], Counted]
) -> Counted:
    """Load a tally from the cache; one that is not there, or is damaged, is counted and kept."""
    place = folder.cache / entry
    if place.exists():
        try:
            return load(place)
        except HingelineError:  # damaged: made again below
            discard(place)
    tally = count()
    partial = place.with_name(f"{entry}.partial")
    discard(partial)
    partial.mkdir(mode=0o700)
    tally.save(partial)
    for path in partial.iterdir():
        only_owner(path)
        sync(path)
    sync(partial)
    partial.replace(place)
    sync(place.parent)
    return load(place)


def _entry(protocol: Protocol, reads: Sequence[HospitalRead], counted_by: list[Any]) -> str:
    return f"{_stem(protocol, reads)}-{fingerprint(counted_by)[:12]}"


def _stem(protocol: Protocol, reads: Sequence[HospitalRead]) -> str:
    ages = protocol.ages
    made_from = fingerprint(
        [read.made_from for read in reads], ages.half_years_to, ages.highest, code_fingerprint("counts")
    )
    return f"tally-{made_from[:24]}"


def forget_unused(folder: Folder, protocol: Protocol, reads: Sequence[HospitalRead]) -> None:
    """Remove from the cache every read and tally that the protocol, as it now is, does not use.

    Patient rows of an export that was replaced must not outlive it.
    """
    used = (_stem(protocol, reads), *(f"read-{read.made_from[:24]}" for read in reads))
    for path in folder.cache.iterdir():
        if path.name.startswith(("read-", "tally-")) and not path.name.startswith(used):
            discard(path)
