"""The door from a terminal: thin views on `hingeline.desk`, which is loaded only when a command needs it.

Errors that a user can cause are printed in three parts and end with exit code 2; nobody sees a traceback.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, Any

import typer

from .errors import HingelineError

app = typer.Typer(
    name="hingeline",
    help="From hospitals' operation records to the ages at which groin hernias change their kind.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

Where = Annotated[Path, typer.Argument(metavar="FOLDER", help="The study's folder.")]
AsJson = Annotated[bool, typer.Option("--json", help="Answer in JSON lines, for machines.")]


@app.command()
def demo(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Where to write it.")] = Path(
        "hingeline-demo"
    ),
    seed: Annotated[int | None, typer.Option(help="Seed of the invented records.")] = None,
    as_json: AsJson = False,
) -> None:
    """Invent a study of six hospitals, run it whole and print the answer."""
    from .desk.demo import make_demo
    from .desk.study import open as open_study

    with _bar(as_json) as progress:
        make_demo(folder, seed=seed, progress=progress)
        outcome = open_study(folder).run(progress=progress)
    _tell(outcome, as_json)


@app.command()
def new(folder: Where) -> None:
    """Start a study folder with a commented protocol."""
    from .desk.new import make_study

    for path in make_study(folder):
        typer.echo(_short(path))
    typer.echo(
        "Next: each hospital's export into sources/, its legend into legends/, then call 'hingeline check'."
    )


@app.command()
def check(folder: Where = Path(), as_json: AsJson = False) -> None:
    """Tell what is wrong with the records."""
    from .desk.study import open as open_study

    with _bar(as_json) as progress:
        outcome = open_study(folder).check(progress=progress)
    if as_json:
        typer.echo(json.dumps(outcome.to_json(), ensure_ascii=False))
        return
    typer.echo(outcome.text())
    typer.echo(f"Every row that was set aside, and what to do: {_short(outcome.set_aside)}")


@app.command()
def run(folder: Where = Path(), as_json: AsJson = False) -> None:
    """Read what changed, count, estimate, draw and write the report."""
    from .desk.study import open as open_study

    with _bar(as_json) as progress:
        outcome = open_study(folder).run(progress=progress)
    _tell(outcome, as_json)


def _tell(outcome: Any, as_json: bool) -> None:
    if as_json:
        typer.echo(json.dumps({"event": "done", **outcome.to_json()}, ensure_ascii=False))
        return
    typer.echo("")
    typer.echo(outcome.text())
    typer.echo("")
    for what, path in outcome.paths().items():
        typer.echo(f"  {what:<22} {_short(path)}")


def _short(path: Path) -> str:
    try:
        return str(Path(path).resolve().relative_to(Path.cwd()))
    except ValueError:
        return str(path)


@contextmanager
def _bar(as_json: bool) -> Iterator[Callable[[str, int, int], None]]:
    """Show one bar that says what is being done; machines get JSON lines, a pipe a line a step."""
    if as_json:

        def lines(what: str, done: int, of: int) -> None:
            typer.echo(
                json.dumps({"event": "progress", "what": what, "done": done, "of": of}, ensure_ascii=False)
            )

        yield lines
        return
    if not sys.stderr.isatty():
        last: list[str] = []

        def steps(what: str, done: int, of: int) -> None:
            if last != [what]:
                last[:] = [what]
                typer.echo(f"· {what}", err=True)

        yield steps
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeElapsedColumn

    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        TaskProgressColumn(),
        TimeElapsedColumn(),
    )
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=1)

        def draw(what: str, done: int, of: int) -> None:
            bar.update(task, description=what, completed=done, total=max(of, 1))

        yield draw


def main() -> None:
    """Run the command line; the only place that turns errors into exit codes."""
    try:
        app(standalone_mode=True)
    except HingelineError as error:
        typer.echo(f"{error}", err=True)
        sys.exit(2)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(1)
