"""A study on disk, as the statistician's notebook, the command line and the app see it.

A folder comes in; checks, runs and views on the answer go out. Everything that is written is written by the
steps and runs beside this module. What only a fresh run needs is loaded inside it.
"""

from __future__ import annotations

import json
import os
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

import pyarrow as pa

from .. import __version__
from ..errors import HingelineError
from ..protocol import Protocol, parse_protocol
from .counted import forget_unused, outcome_tallies, tally_of
from .folder import Folder, not_writable, write_whole
from .progress import Progress, silent
from .readers import entering, readings_of, sheets_fingerprint
from .readers_notes import notes_beside
from .runs import Run, current_run, new_run, run_made_from, stand
from .steps import (
    HospitalRead,
    code_fingerprint,
    file_fingerprint,
    fingerprint,
    read_all,
    study_file,
    write_questions_of_all,
    write_set_aside_of_all,
)
from .told import Checked, Outcome

if TYPE_CHECKING:
    from ..answers.findings import Answer
    from ..answers.outcomes import OutcomeTallies
    from ..answers.views import AgesView
    from ..answers.views_outcomes import FollowUpView, OutcomesView
    from ..counts import PatternTally
    from ..writing.beside import Drawer


class Study:
    """A study folder.

    Examples
    --------
    >>> import hingeline as hl
    >>> study = hl.open("my-study")                     # doctest: +SKIP
    >>> study.run()                                     # doctest: +SKIP
    >>> study.ages.crossing(0.10).interval              # doctest: +SKIP
    """

    def __init__(self, root: str | Path) -> None:
        self.folder = Folder(Path(root))
        self._protocol_text = _text_of(self.folder)
        self.protocol: Protocol = parse_protocol(self._protocol_text, str(self.folder.protocol))

    def __repr__(self) -> str:
        return f"Study({str(self.folder.root)!r})"

    def check(self, progress: Progress = silent) -> Checked:
        """Read every export and tell what is wrong; writes the lists of what was set aside and what is asked."""
        from ..records.decisions import read_decisions

        with self._held():
            reads = read_all(self.folder, self.protocol, progress)
            path = write_set_aside_of_all(self.folder, reads)
            asked = write_questions_of_all(self.folder, reads)
        return Checked(
            counts=pa.concat_tables([_counted(reads, of) for of in ("operation", "visit")]),
            flow=pa.concat_tables([read.flow for read in reads]),
            detected={read.hospital: read.detected for read in reads},
            set_aside=path,
            questions=pa.concat_tables([read.questions for read in reads]),
            asked=asked,
            decided=len(read_decisions(study_file(self.folder, self.folder.decisions.name))),
            compared=notes_beside(reads),
        )

    def settle(self, answered: Path | str | None = None, *, by: str, why: str = "") -> int:
        """Take the answers of a list of questions into ``decisions.csv``; return how many there were.

        Parameters
        ----------
        answered : Path or str, optional
            The list with its answers; the study's own ``questions.csv`` when left out.
        by : str
            Who answered.
        why : str
            Kept with each decision.

        Raises
        ------
        HingelineError
            When an answer is no word of its field: with its row; then nothing is settled.
        """
        from ..records.decisions import append_decisions
        from ..records.questions import read_answers

        path = self.folder.present(self.folder.questions) if answered is None else Path(answered)
        settled = read_answers(path, by=by, on=datetime.now(UTC).date(), why=why)
        hospitals = {hospital.name for hospital in self.protocol.hospitals}
        for line in settled:
            if line.hospital not in hospitals:
                raise HingelineError(
                    f"The study has no hospital {line.hospital!r}", str(path), "Leave the column as it was"
                )
        with self._held():
            append_decisions(study_file(self.folder, self.folder.decisions.name), settled)
            self.folder.note("settled", answers=len(settled))
        return len(settled)

    def draw_sample(self, size: int, progress: Progress = silent) -> tuple[Path, ...]:
        """Draw cases at random and write a blank typing sheet for each of two readers.

        Parameters
        ----------
        size : int
            All cases are drawn when there are fewer.

        Returns
        -------
        tuple of pathlib.Path
            Two XLSX files in ``by-hand/``, private; sheets with anything typed in are never written over.
        """
        from .sampling import write_sheets

        with self._held():
            reads = read_all(self.folder, self.protocol, progress)
            sheets = write_sheets(self.folder, self.protocol, reads, size)
            self.folder.note("sample drawn", asked=size)
        return sheets

    def run(self, progress: Progress = silent) -> Outcome:
        """Read what changed, count, estimate, draw and write; the last results stand until all is whole.

        Raises
        ------
        HingelineError
            When an export, legend or protocol cannot be used, the folder cannot be written, or another run
            is working.
        """
        with self._held():
            outcome = self._run(progress)
        return outcome

    @contextmanager
    def _held(self) -> Iterator[None]:
        """Hold the study, swept of what a killed run left; a disk that fails is told in three parts."""
        self.folder.prepare()
        with self.folder.locked():
            try:
                self.folder.sweep()
                self.folder.bring_over()
                yield
            except OSError as error:
                place = Path(os.fsdecode(error.filename)) if error.filename else self.folder.root
                raise not_writable(place, error) from error

    def _run(self, progress: Progress) -> Outcome:
        began = time.perf_counter()
        reads = read_all(self.folder, self.protocol, progress)
        made_from = self._made_from(reads)
        standing = run_made_from(self.folder, made_from)
        if standing is not None:
            stand(self.folder, standing)
            forget_unused(self.folder, self.protocol, reads)
            self.folder.note("nothing changed", run=standing.id)
            return Outcome(standing, False, self.folder.set_aside, time.perf_counter() - began)
        # what only a fresh run needs is loaded here, so that an unchanged study is told so at once
        from ..answers.leaving import leaving_tallies
        from ..writing import write_report
        from ..writing.beside import Drawer

        set_aside = write_set_aside_of_all(self.folder, reads)
        write_questions_of_all(self.folder, reads)
        progress("counting", 0, 1)
        with Drawer() as drawer:
            # what became of the groins is counted on one core while patients are on the other
            with ThreadPoolExecutor(1) as aside:
                followed = aside.submit(outcome_tallies, self.folder, self.protocol, reads)
                tally = tally_of(self.folder, self.protocol, reads)
                outcomes = followed.result()
            answer = self._answer(tally, outcomes, reads, made_from, progress, drawer)
            id = f"{datetime.now(UTC):%Y%m%dT%H%M%SZ}-{made_from[:12]}"
            with new_run(self.folder, id) as path:
                write_whole(path / "findings.json", answer.to_json())
                write_whole(path / "study.toml", self._protocol_text)
                (path / "tallies").mkdir()
                for name, content in leaving_tallies(tally, self.protocol, outcomes).items():
                    write_whole(path / "tallies" / name, content)
                write_report(answer, path, progress=progress, drawer=drawer)
                meta = {
                    "format": 1,
                    "id": id,
                    "made_from": made_from,
                    "made_at": datetime.now(UTC).isoformat(timespec="seconds"),
                    "version": __version__,
                    "protocol": self.protocol.fingerprint(),
                    "reads": {read.hospital: read.made_from for read in reads},
                    "cases": tally.n_groins,
                }
                write_whole(path / "run.json", json.dumps(meta, ensure_ascii=False, indent=1) + "\n")
        run = Run(id, self.folder.runs / id)
        stand(self.folder, run)
        forget_unused(self.folder, self.protocol, reads)
        self.folder.note("run", run=id, cases=tally.n_groins, hospitals=len(reads))
        for made in ("tally", "ages", "outcome_tallies", "followup", "outcomes"):
            self.__dict__.pop(made, None)
        return Outcome(run, True, set_aside, time.perf_counter() - began)

    def _made_from(self, reads: tuple[HospitalRead, ...]) -> str:
        population = self.protocol.population
        return fingerprint(
            [read.made_from for read in reads],
            self.protocol.fingerprint(),
            file_fingerprint(study_file(self.folder, population.file)) if population else None,
            sheets_fingerprint(self.folder, self.protocol),
            [file_fingerprint(study_file(self.folder, series.file)) for series in self.protocol.series],
            code_fingerprint(),
        )

    def _answer(
        self,
        tally: PatternTally,
        outcomes: OutcomeTallies,
        reads: tuple[HospitalRead, ...],
        made_from: str,
        progress: Progress,
        drawer: Drawer,
    ) -> Answer:
        from ..answers.answer import answer_study
        from ..answers.rates import DIMENSIONS as RATES_BY

        population = self._population()
        return answer_study(
            tally,
            flow=pa.concat_tables([read.flow for read in reads]),
            protocol=entering(self.folder, self.protocol, reads),
            population=population,
            rates_tally=tally_of(self.folder, self.protocol, reads, RATES_BY) if population else None,
            outcomes=outcomes,
            readings=readings_of(self.folder, self.protocol, reads),
            series=self._series(),
            marks={
                "version": __version__,
                "protocol": self.protocol.fingerprint()[:12],
                "made from": made_from[:12],
                "seed": str(self.protocol.study.seed),
                "seal": "none: every finding is exploratory",
            },
            progress=progress,
            spare=drawer.start,
        )

    def _series(self) -> tuple[tuple[str, pa.Table], ...]:
        from ..counts.series import read_series

        return tuple(
            (series.title, read_series(study_file(self.folder, series.file)))
            for series in self.protocol.series
        )

    def _population(self) -> pa.Table | None:
        from ..counts.population import read_population

        population = self.protocol.population
        return read_population(study_file(self.folder, population.file)) if population else None

    @cached_property
    def tally(self) -> PatternTally:
        """The tally of patient patterns, counted anew only where an export, legend or bin has changed."""
        with self._held():
            tally = tally_of(self.folder, self.protocol, read_all(self.folder, self.protocol, silent))
        return tally

    @cached_property
    def ages(self) -> AgesView:
        """Ages: turns, crossings, fits, on the headline cases."""
        from ..answers.views import AgesView

        protocol = self.protocol
        if protocol.agreement.enters:
            with self._held():
                protocol = entering(self.folder, protocol, read_all(self.folder, protocol, silent))
        return AgesView(self.tally, protocol)

    @cached_property
    def outcome_tallies(self) -> OutcomeTallies:
        """The cases followed in each way, counted anew only where an export, legend or the cut-off has changed."""
        with self._held():
            reads = read_all(self.folder, self.protocol, silent)
            return outcome_tallies(self.folder, self.protocol, reads)

    @cached_property
    def followup(self) -> FollowUpView:
        """Follow-up: recurrence, curves, rates, who has none, what was found at re-operation."""
        from ..answers.views_outcomes import FollowUpView

        return FollowUpView(self.outcome_tallies, self.protocol)

    @cached_property
    def outcomes(self) -> OutcomesView:
        """Outcomes: the comparison of repairs, hospitals pooled, one more event, the next study."""
        from ..answers.views_outcomes import OutcomesView

        return OutcomesView(self.outcome_tallies, self.protocol)

    @property
    def current(self) -> Run | None:
        """The run that stands, or None before the first."""
        return current_run(self.folder)


def open(folder: str | Path) -> Study:
    """Open a study folder.

    Parameters
    ----------
    folder : str or pathlib.Path

    Returns
    -------
    Study

    Raises
    ------
    HingelineError
        When there is no protocol or it cannot be used.
    """
    return Study(folder)


def _counted(reads: Sequence[HospitalRead], of: str) -> pa.Table:
    """Count by hospital and rule what was listed of operations, or of visits, which have sheets of their own."""
    from ..records.intake import summarise

    lists = []
    for read in reads:
        places = zip(*(read.set_aside.column(name).to_pylist() for name in ("file", "sheet")), strict=True)
        kept = [(place in read.visits_from) == (of == "visit") for place in places]
        lists.append(read.set_aside.filter(pa.array(kept, pa.bool_())))
    counts = summarise(lists)
    return counts.add_column(1, "of", pa.array([of] * counts.num_rows, pa.string()))


def _text_of(folder: Folder) -> str:
    from ..protocol.study import read_text

    if folder.root.exists() and not folder.root.is_dir():
        raise HingelineError(
            "A study is a folder, this is a file", str(folder.root), "Name the study's folder."
        )
    return read_text(folder.protocol)
