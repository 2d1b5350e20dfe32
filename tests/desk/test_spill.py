"""What a killed reading had spilled: it lies within the study, and the next command removes it."""

from __future__ import annotations

import os
import signal
import subprocess
import sys

import pytest

from hingeline.desk.study import Study

from .test_settle import study  # noqa: F401

CHILD = """
import sys, time
from hingeline.desk.study import Study
from hingeline.records import intake

def waits(database, *_):
    database.execute("SET memory_limit = '16MiB'")
    database.execute("SET threads = 1")
    database.execute("CREATE TABLE much AS SELECT repeat(md5(range::VARCHAR), 4) AS cell FROM range(600000)")
    print("spilled", flush=True)
    time.sleep(120)

intake.judge = waits
Study(sys.argv[1]).check()
"""


@pytest.mark.skipif(os.name == "nt", reason="no such signal")
def test_what_a_killed_reading_spilled_lies_in_the_study_and_is_swept(study, tmp_path):  # noqa: F811
    elsewhere = tmp_path / "temporary"
    elsewhere.mkdir()
    child = subprocess.Popen(
        [sys.executable, "-c", CHILD, str(study.folder.root)],
        env={**os.environ, "TMPDIR": str(elsewhere)},
        stdout=subprocess.PIPE,
    )
    assert child.stdout is not None
    with child.stdout as told:
        assert told.readline() == b"spilled\n"
        child.send_signal(signal.SIGKILL)
        child.wait()
    left = [path for path in study.folder.hidden.glob("partial-*") if path.is_dir()]
    assert left
    assert any(folder.iterdir() for folder in left)
    assert all(folder.stat().st_mode & 0o777 == 0o700 for folder in left)
    assert list(elsewhere.iterdir()) == []
    Study(study.folder.root).check()
    assert list(study.folder.hidden.glob("partial-*")) == []
