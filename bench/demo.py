"""The demo end to end: from raw exports to the report, and again when nothing changed. Whole processes, in one run.

Prints seconds of each and the ratio of the two, and how many cores the first kept at work. Inventing the exports is
not counted.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from hingeline.desk.demo import make_demo


def seconds(*words: str) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, "-m", "hingeline", *words], check=True, capture_output=True)
    return time.perf_counter() - start


def worked() -> float:
    """Seconds that all cores together have worked for the processes that ended."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def main() -> None:
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "demo"
        make_demo(folder)
        before = worked()
        first = seconds("run", str(folder))
        cores = (worked() - before) / first
        again = sorted(seconds("run", str(folder)) for _ in range(3))[1]
        helped = sorted(seconds("--help") for _ in range(5))[2]
    print(f"raw exports to report        {first:6.2f} s")
    print(f"  cores at work              {cores:6.2f}     (of {os.cpu_count()})")
    print(f"again, nothing changed       {again:6.2f} s   ({first / again:.0f} times less)")
    print(f"hingeline --help             {helped:6.2f} s")


if __name__ == "__main__":
    main()
