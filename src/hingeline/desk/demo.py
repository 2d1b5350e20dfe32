"""The demo: an invented study of six hospitals, written where a user can look at every file of it.

A folder comes in, a study that `hingeline.desk.study` can run goes out. It writes over an earlier demo and
over nothing else.
"""

from __future__ import annotations

import json
from dataclasses import fields
from pathlib import Path

from ..errors import HingelineError
from ..invented import SeriesFile, Truth, write_study
from .folder import BY_HAND, Folder, not_writable, write_whole
from .new import EXAMPLE, EXAMPLE_TITLE
from .progress import Progress, silent

TRUTH = "truth.json"
OWN = {
    "study.toml": False,
    TRUTH: False,
    "legends": True,
    "sources": True,
    "series": True,
    "results": True,
    ".hingeline": True,
    BY_HAND: True,
}
"""What stands in a demo's folder, and whether it is a folder itself."""
UNFINISHED = "unfinished"


def make_demo(root: Path, *, seed: int | None = None, progress: Progress = silent) -> None:
    """Write the invented study, or leave it as it is when it is there with the same seed.

    It is invented inside ``.hingeline`` and its files are moved into place when all are whole. Nothing
    else is removed: a file that the demo did not make stays as it is, and so do earlier runs.

    Raises
    ------
    HingelineError
        When the folder holds something else, cannot be written, or a run is working on it.
    """
    from ..counts.series import example_series

    folder = Folder(root)
    stamp = folder.hidden / "demo-seed"
    wanted = str(seed) if seed is not None else "default"

    def told(what: str, done: float) -> None:
        progress(what, round(100 * done), 100)

    try:
        if _text(stamp) == wanted and _is_ours(root / TRUTH):
            return
        _refuse_another(root, stamp)
        folder.prepare()
        with folder.locked():
            _refuse_another(root, stamp, held=True)
            folder.sweep()
            write_whole(stamp, UNFINISHED, private=True)
            new = folder.hidden / "partial-demo"
            published = (SeriesFile(EXAMPLE, EXAMPLE_TITLE, example_series()),)
            if seed is None:
                write_study(new, series=published, progress=told)
            else:
                write_study(new, seed=seed, series=published, progress=told)
            # the answer of an earlier seed must not stand beside these records
            folder.current.unlink(missing_ok=True)
            _move(new, root)
            folder.sweep()
            write_whole(stamp, wanted, private=True)
    except OSError as error:
        raise not_writable(root, error) from None


def _refuse_another(root: Path, stamp: Path, held: bool = False) -> None:
    """Refuse a folder that is neither new, nor empty, nor a demo's and nothing but a demo's."""
    if not root.exists() and not root.is_symlink():
        return
    found = list(root.iterdir()) if root.is_dir() else [root]
    as_made = all(
        path.name in OWN and not path.is_symlink() and path.is_dir() == OWN[path.name] for path in found
    )
    # a demo that was killed at its beginning has nothing yet but its own hidden folder
    begun = {path.name for path in found} <= {".hingeline", BY_HAND, "results"} and (
        held or _text(stamp) == UNFINISHED
    )
    if root.is_dir() and (not found or (as_made and (begun or (_text(stamp) and _is_ours(root / TRUTH))))):
        return
    raise HingelineError(
        "This folder holds something that is not the demo",
        str(root),
        "Name another folder: 'hingeline demo FOLDER'; nothing was changed.",
    )


def _text(path: Path) -> str:
    return path.read_text(encoding="utf-8", errors="replace").strip() if path.is_file() else ""


def _is_ours(truth: Path) -> bool:
    """Tell whether a file is the truth of an invented study, and not another of the same name."""
    try:
        told = json.loads(_text(truth))
    except ValueError:
        return False
    return isinstance(told, dict) and {"format", *(field.name for field in fields(Truth))} <= told.keys()


def _move(new: Path, root: Path) -> None:
    """Move each file of the new study to its place, the protocol and the truth last."""
    files = sorted((path for path in new.rglob("*") if path.is_file()), key=lambda path: path.parent == new)
    for path in files:
        target = root / path.relative_to(new)
        target.parent.mkdir(exist_ok=True)
        path.replace(target)
