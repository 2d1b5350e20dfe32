"""The door from a terminal: thin views on `hingeline.desk`, which is loaded only when a command needs it.

Errors that a user can cause are printed in three parts and end with exit code 2, ours with 1; nobody sees a
traceback. Whatever is printed passes through `_say`, which writes out what a terminal would obey.
"""

from __future__ import annotations

import json
import os
import re
import sys
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Annotated, Any

import typer

from . import wording
from .errors import HingelineError

app = typer.Typer(
    name="hingeline",
    help="From hospitals' operation records to the ages at which groin hernias change their kind.",
    epilog=wording.CAUTION,
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

Where = Annotated[Path, typer.Argument(metavar="FOLDER", help="The study's folder.")]
AsJson = Annotated[bool, typer.Option("--json", help="Answer in JSON lines, for machines.")]

_at: list[Path] = []
"""The folder that the command works on, once it is known: where an error of ours may be logged."""


@app.command(short_help="Invent a study, run it and print the answer.")
def demo(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Where to write it.")] = Path(
        "hingeline-demo"
    ),
    seed: Annotated[int | None, typer.Option(help="Seed of the invented records.")] = None,
    as_json: AsJson = False,
) -> None:
    """Invent a study of six hospitals, run it whole and print the answer."""
    _at[:] = [folder]
    from .desk.demo import make_demo
    from .desk.study import open as open_study

    with _bar(as_json) as progress:
        make_demo(folder, seed=seed, progress=progress)
        outcome = open_study(folder).run(progress=progress)
    _tell(outcome, as_json)


@app.command()
def new(folder: Where) -> None:
    """Start a study folder with a commented protocol."""
    _at[:] = [folder]
    from .desk.new import make_study

    for path in make_study(folder):
        _say(_short(path))
    _say("Next: each hospital's export into sources/, its legend into legends/, then call 'hingeline check'.")


@app.command()
def look(
    files: Annotated[
        list[Path], typer.Argument(metavar="FILE", help="A hospital's export; several of one form.")
    ],
    hospital: Annotated[str, typer.Option(help="The hospital's name; the file's name unless given.")] = "",
    sheet: Annotated[str, typer.Option(help="A spreadsheet's sheet; detected unless given.")] = "",
    study: Annotated[
        Path | None, typer.Option(help="Study to which the hospital is added; else only a legend is written.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Describe a hospital's export and propose a legend for it."""
    _at[:] = [study] if study else []
    from .desk.looking import look as look_at

    seen = look_at(files, hospital=hospital or None, sheet=sheet or None, study=study)
    if as_json:
        _say_json(seen.to_json())
        return
    _say(seen.text())
    for what, path in seen.written.items():
        _say(f"  {what:<22} {_short(path)}")
    _say(seen.next_step(_short))


@app.command()
def check(
    folder: Where = Path(),
    sample: Annotated[
        int, typer.Option(min=0, help="Draw so many cases as blank typing sheets for two readers.")
    ] = 0,
    as_json: AsJson = False,
) -> None:
    """Tell what is wrong with the records."""
    _at[:] = [folder]
    from .desk.study import open as open_study

    study = open_study(folder)
    with _bar(as_json) as progress:
        outcome = study.check(progress=progress)
        sheets = study.draw_sample(sample, progress=progress) if sample else ()
    if as_json:
        _say_json({**outcome.to_json(), "typing_sheets": [str(path) for path in sheets]})
        return
    _say(outcome.text(_short))
    _say("")
    _say(f"Every row that was set aside, and what to do: {_short(outcome.set_aside)}")
    for path in sheets:
        _say(f"Typing sheet: {_short(path)}")


@app.command()
def settle(
    folder: Where = Path(),
    by: Annotated[str, typer.Option(help="Who answered: a name or initials.")] = "",
    answers: Annotated[
        Path | None, typer.Option(help="The answered list; the study's own questions.csv unless given.")
    ] = None,
    why: Annotated[str, typer.Option(help="A remark that is kept with each answer.")] = "",
    as_json: AsJson = False,
) -> None:
    """Take answered questions into the study's decisions."""
    _at[:] = [folder]
    from .desk.study import open as open_study

    study = open_study(folder)
    settled = study.settle(answers, by=by, why=why)
    if as_json:
        _say_json({"event": "done", "settled": settled, "decisions": str(study.folder.decisions)})
        return
    _say(wording.settled_told(settled))
    if settled:
        _say(f"Kept in {_short(study.folder.decisions)}; the next 'check' or 'run' reads by them.")


@app.command()
def run(folder: Where = Path(), as_json: AsJson = False) -> None:
    """Read what changed, count, estimate, draw and write the report."""
    _at[:] = [folder]
    from .desk.study import open as open_study

    with _bar(as_json) as progress:
        outcome = open_study(folder).run(progress=progress)
    _tell(outcome, as_json)


@app.command(short_help="Tell how large the next study has to be.")
def size(
    question: Annotated[
        str,
        typer.Option("--for", help="What to show: shares, as-good, log-rank, share, turn or crossing."),
    ],
    new: Annotated[float | None, typer.Option(help="Per cent that recur after the new repair.")] = None,
    standard: Annotated[float | None, typer.Option(help="Per cent that recur after the standard.")] = None,
    margin: Annotated[float | None, typer.Option(help="Points by which the new may be worse.")] = None,
    hazard_ratio: Annotated[float | None, typer.Option(help="Of the new repair to the standard.")] = None,
    years: Annotated[float | None, typer.Option(help="Years by which the standard's share recur.")] = None,
    entry_years: Annotated[float | None, typer.Option(help="Years over which groins enter.")] = None,
    follow_years: Annotated[float | None, typer.Option(help="Years followed after the last entry.")] = None,
    lost_a_year: Annotated[float | None, typer.Option(help="Per cent lost to follow-up a year.")] = None,
    share: Annotated[float | None, typer.Option(help="Per cent, a share to be known.")] = None,
    within: Annotated[float | None, typer.Option(help="Points or years either side.")] = None,
    assurance: Annotated[float | None, typer.Option(help="Per cent of studies to be so narrow.")] = None,
    turn: Annotated[int | None, typer.Option(min=1, help="Which turn of the shape, from 1.")] = None,
    threshold: Annotated[float | None, typer.Option(help="Per cent direct, to be crossed.")] = None,
    points: Annotated[str | None, typer.Option(help="Per cent direct at ages: 0:0.7,14:1.5,19:13.")] = None,
    ages: Annotated[str | None, typer.Option(help="Ages enrolled: 8-35, or 8-16:1,16-35:2.")] = None,
    hospitals: Annotated[int | None, typer.Option(min=1, help="Hospitals of equal size.")] = None,
    hospital_spread: Annotated[float | None, typer.Option(help="Their spread on the logit.")] = None,
    studies: Annotated[int | None, typer.Option(help="Simulated studies of each size.")] = None,
    seed: Annotated[int | None, typer.Option(min=0, help="Seed of the simulation.")] = None,
    power: Annotated[float | None, typer.Option(help="Per cent chance of showing it; 80.")] = None,
    level: Annotated[float | None, typer.Option(help="Per cent of the interval; 95.")] = None,
    ratio: Annotated[float | None, typer.Option(help="Standard groins for each new one; 1.")] = None,
    lost: Annotated[float | None, typer.Option(help="Per cent enrolled that give no answer.")] = None,
    both_groins: Annotated[float | None, typer.Option(help="Per cent of patients with both.")] = None,
    groin_likeness: Annotated[float | None, typer.Option(help="Correlation of a patient's groins.")] = None,
    per_hospital: Annotated[float | None, typer.Option(help="Groins of one arm in a hospital.")] = None,
    hospital_likeness: Annotated[float | None, typer.Option(help="Correlation within it (ICC).")] = None,
    groins: Annotated[float | None, typer.Option(help="Groins there are: what can they show?")] = None,
    picture: Annotated[Path | None, typer.Option(help="Draw it: FILE.svg, .png or .pdf.")] = None,
    as_json: AsJson = False,
) -> None:
    """Tell how large the next study has to be, as a sentence for its protocol."""
    asked = {
        name: value
        for name, value in locals().items()
        if name not in {"question", "picture", "as_json"} and value is not None
    }
    from .desk.sizing import size_next

    with _bar(as_json) as progress:
        sizing = size_next(question, asked, progress=progress)
    drawn = sizing.draw(picture) if picture is not None else None
    if as_json:
        _say_json({"event": "done", **sizing.to_json(), "picture": str(drawn) if drawn else None})
        return
    _say(sizing.text())
    if drawn is not None:
        _say(f"Picture: {_short(drawn)}")
    _say("")
    _say(wording.CAUTION)


def _tell(outcome: Any, as_json: bool) -> None:
    if as_json:
        _say_json({"event": "done", **outcome.to_json()})
        return
    _say("")
    _say(outcome.text())
    _say("")
    for what, path in outcome.paths().items():
        _say(f"  {what:<22} {_short(path)}")


def _short(path: Path) -> str:
    try:
        shown = str(Path(path).resolve().relative_to(Path.cwd()))
    except ValueError:
        shown = str(path)
    return wording.escaped(shown)


def _say(text: str, err: bool = False) -> None:
    """Print a text; the only way to the terminal. Line breaks stand, other control characters are written out."""
    typer.echo(wording.escaped(text, lines=True), err=err)


def _say_json(value: dict[str, Any]) -> None:
    _say(json.dumps(value, ensure_ascii=False))


def _say_error(error: HingelineError) -> None:
    # a line break inside a part is not ours: a file's name could feign a part
    parts = (wording.escaped(str(part)) for part in (error.what, error.where, error.todo))
    _say(str(HingelineError(*parts)), err=True)


@contextmanager
def _bar(as_json: bool) -> Iterator[Callable[[str, int, int], None]]:
    """Show one bar that says what is being done; machines get JSON lines, a pipe a line a step."""
    if as_json:

        def lines(what: str, done: int, of: int) -> None:
            _say_json({"event": "progress", "what": what, "done": done, "of": of})

        yield lines
        return
    if not sys.stderr.isatty():
        last: list[str] = []

        def steps(what: str, done: int, of: int) -> None:
            if last != [what]:
                last[:] = [what]
                _say(f"· {wording.escaped(what)}", err=True)

        yield steps
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeElapsedColumn

    columns = (
        TextColumn("{task.description}", markup=False),
        BarColumn(),
        TaskProgressColumn(),
        TimeElapsedColumn(),
    )
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=1)

        def draw(what: str, done: int, of: int) -> None:
            bar.update(task, description=wording.escaped(what), completed=done, total=max(of, 1))

        yield draw


def main() -> None:
    """Run the command line; the only place that turns errors into exit codes."""
    for stream in (sys.stdout, sys.stderr):
        with suppress(AttributeError, ValueError):  # a stream that cannot show a letter writes it out
            stream.reconfigure(errors="backslashreplace")  # type: ignore[union-attr]
    try:
        code = app(prog_name="hingeline", standalone_mode=False)
        if code == 130:  # the frame turns an interrupt into this code
            raise KeyboardInterrupt
    except HingelineError as error:
        _say_error(error)
        code = 2
    except KeyboardInterrupt:
        _say("Stopped; the last results stand.", err=True)
        code = 130
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        code = 1
    except Exception as error:
        code = _tell_other(error)
    sys.exit(code if isinstance(code, int) else 0)


def _tell_other(error: Exception) -> int:
    """Tell an error that is not `HingelineError`: of the command line (exit code 2) or of the program (1)."""
    if type(error).__name__ == "NoArgsIsHelpError":
        _say(str(error), err=True)
        return 2
    if hasattr(error, "format_message") and hasattr(error, "exit_code"):
        _say_error(_mistyped(error))
        return 2
    _say_error(
        HingelineError(
            f"An unexpected error, a fault of this program ({type(error).__name__})",
            _logged(error),
            "Call again; if it comes again, report it with the last line of that log, which holds no "
            "patient data. The last results stand",
        )
    )
    return 1


def _mistyped(error: Any) -> HingelineError:
    """Put an error of the command line in three parts, with the word that was probably meant."""
    from difflib import get_close_matches

    context = error.ctx
    path = context.command_path if context is not None else "hingeline"
    typed, known = "", []
    option = getattr(error, "option_name", None)
    if option:
        typed = str(option)
        known = [name for p in context.command.params for name in p.opts] if context is not None else []
        what = f"There is no option {typed!r}"
        if type(error).__name__ != "NoSuchOption":
            known, what = [], str(error.format_message())
    else:
        what = str(error.format_message())
        found = re.match(r"No such command '(.*?)'", what, re.DOTALL)
        if found and context is not None:
            typed, known = found[1], list(context.command.commands)
            what = f"There is no command {typed!r}"
    near = get_close_matches(typed, [*known, "--help"], n=1)
    todo = f"Did you mean {near[0]!r}? " if near else ""
    return HingelineError(
        what.split(". Did you mean")[0],
        "the command line",
        f"{todo}'{path} --help' tells what can be asked",
    )


def _logged(error: Exception) -> str:
    """Note where an unexpected error arose in the study's log, and say where that is.

    Only names of files, lines and functions of programs: an error's own words may hold a patient's data.
    """
    frames = [
        f"{Path(frame.filename).name}:{frame.lineno} {frame.name}"
        for frame in traceback.extract_tb(error.__traceback__)
    ]
    for root in _at:
        if (root / ".hingeline").is_dir():
            from .desk.folder import Folder

            folder = Folder(root)
            with suppress(OSError):
                folder.note("unexpected error", error=type(error).__name__, frames=frames)
                return str(folder.log)
    return frames[-1] if frames else "the command line"
