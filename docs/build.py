"""Make the pictures of README and docs from the invented study, so that they show what the program draws today."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from hingeline.desk.demo import make_demo
from hingeline.desk.study import Study

HERE = Path(__file__).resolve().parent
WANTED = ("direct-share", "repairs-by-age")


def main() -> None:
    """Run the demo in a temporary folder and keep some of its pictures."""
    with tempfile.TemporaryDirectory() as place:
        root = Path(place) / "demo"
        make_demo(root)
        run = Study(root).run().run
        for name in WANTED:
            shutil.copy(run.path / "pictures" / f"{name}.png", HERE / "pictures" / f"{name}.png")
    print(f"wrote {', '.join(WANTED)} to docs/pictures")


if __name__ == "__main__":
    main()
