"""What must never stand in the project: machine paths, stubs, and text that is formatted outside its one place."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

ROOT = Path(__file__).parents[2]


def _tracked(*patterns: str) -> list[Path]:
    listed = subprocess.run(
        ["git", "ls-files", *patterns], cwd=ROOT, capture_output=True, text=True, check=False
    )
    found = [ROOT / line for line in listed.stdout.splitlines()]
    return [path for path in found if path.is_file()] or list((ROOT / "src").rglob("*.py"))


def test_no_committed_file_holds_a_path_of_some_machine():
    home = re.compile(r"(?<![\w.])/(?:home|Users|root|work)/[a-z]+\w*/")
    for path in _tracked("*.py", "*.md", "*.toml", "*.json", "*.csv", "*.R", "Makefile", ".ci/run"):
        for number, line in enumerate(path.read_text(encoding="utf-8", errors="replace").splitlines(), 1):
            assert not home.search(line), f"{path.relative_to(ROOT)}:{number}"


def test_no_room_is_left_unfinished():
    words = re.compile(r"\b(TO" + r"DO|FIX" + r"ME|XX" + r"X|NotImplemented" + r"Error)\b")
    for path in _tracked("src/*.py", "tests/*.py", "bench/*.py", "tasks.py"):
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            assert not words.search(line), f"{path.relative_to(ROOT)}:{number}"


def test_numbers_are_formatted_in_one_place():
    # a format of digits or of per cent inside an f-string, outside wording
    shape = re.compile(r"\{[^{}]*:[^{}]*\.\d+[f%g]\}")
    allowed = {"findings.py"}
    for path in (ROOT / "src").rglob("*.py"):
        if path.name in allowed or path.parent.name == "wording":
            continue
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            assert not shape.search(line), f"{path.relative_to(ROOT)}:{number} formats a number itself"
