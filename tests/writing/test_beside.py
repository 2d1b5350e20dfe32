"""Pictures drawn in a process of their own are the pictures drawn here."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from hingeline import pictures
from hingeline.writing.beside import Drawer

SPECS = [{"mark": mark, "data": {"values": [{"a": 1}]}} for mark in ("point", "bar", "tick")]


def test_drawings_come_in_their_order_whether_or_not_a_process_was_started() -> None:
    here = [pictures.svg(spec) for spec in SPECS]
    assert len(set(here)) == len(SPECS)
    with Drawer() as drawer:
        assert list(drawer.draw(SPECS)) == here
        drawer.start()
        assert list(drawer.draw(SPECS)) == here


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux forks")
def test_a_drawing_process_that_is_killed_costs_no_picture() -> None:
    # a process of its own: here the converter may have been started already, and then nothing is forked
    script = (
        "import os, signal\n"
        "from hingeline import pictures\n"
        "from hingeline.writing.beside import Drawer\n"
        f"specs = {SPECS!r}\n"
        "with Drawer() as drawer:\n"
        "    drawer.start()\n"
        "    for one in list(drawer._pool._processes): os.kill(one, signal.SIGKILL)\n"
        "    drawn = list(drawer.draw(specs))\n"
        "assert drawn == [pictures.svg(spec) for spec in specs]\n"
        "print('forked')\n"
    )
    if (os.cpu_count() or 1) < 2:
        pytest.skip("one core")
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, timeout=120)
    assert (done.returncode, done.stdout.strip()) == (0, "forked"), done.stderr
