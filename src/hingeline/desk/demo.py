"""The demo: an invented study of six hospitals, written where a user can look at every file of it.

A folder comes in, a study that `hingeline.desk.study` can run goes out. It writes over an earlier demo and
over nothing else.
"""

from __future__ import annotations

import shutil
from pathlib import Path

from ..errors import HingelineError
from ..invented import write_study
from .folder import not_writable
from .progress import Progress, silent

MARK = "truth.json"
"""A folder with this file was made by the demo, so the demo may make it again."""


def make_demo(root: Path, *, seed: int | None = None, progress: Progress = silent) -> None:
    """Write the invented study, or leave it as it is when it is there with the same seed.

    Raises
    ------
    HingelineError
        When the folder holds something else or cannot be written.
    """
    stamp = root / ".hingeline" / "demo-seed"
    wanted = str(seed) if seed is not None else "default"
    if stamp.exists() and stamp.read_text(encoding="utf-8") == wanted and (root / MARK).exists():
        return
    if root.exists() and (not root.is_dir() or (any(root.iterdir()) and not (root / MARK).exists())):
        raise HingelineError(
            "This folder holds something that is not the demo",
            str(root),
            "Name another folder: 'hingeline demo FOLDER'; nothing was changed.",
        )

    def told(what: str, done: float) -> None:
        progress(what, round(100 * done), 100)

    try:
        if root.exists():
            shutil.rmtree(root)
        if seed is None:
            write_study(root, progress=told)
        else:
            write_study(root, seed=seed, progress=told)
        stamp.parent.mkdir(exist_ok=True)
        stamp.write_text(wanted, encoding="utf-8")
    except OSError as error:
        raise not_writable(root, error) from None
