from __future__ import annotations

import dataclasses
import json
from pathlib import Path

import pytest

from hingeline.errors import HingelineError
from hingeline.writing import write_report

from .drawn import sample


def test_every_file_is_written_where_it_says(tmp_path: Path) -> None:
    steps: list[tuple[str, int, int]] = []
    answer = sample.answer()
    written = write_report(answer, tmp_path, progress=lambda *step: steps.append(step))
    assert written["html"] == tmp_path / "writing" / "report.html"
    assert written["pdf"].read_bytes().startswith(b"%PDF")
    figures = [figure.name for part in answer.parts for figure in part.figures]
    for name in [*figures, "direct-share-closer"]:
        assert written[f"{name}.svg"].read_text(encoding="utf-8").startswith("<svg")
        assert written[f"{name}.png"].read_bytes().startswith(b"\x89PNG")
        assert json.loads(written[f"{name}.vl.json"].read_text(encoding="utf-8"))["description"]
    assert {path for path in tmp_path.rglob("*") if path.is_file()} == set(written.values())
    done = [at for _, at, _ in steps]
    assert done == sorted(done)
    assert steps[-1][1] == steps[-1][2]


def test_only_the_formats_asked_for_are_written(tmp_path: Path) -> None:
    answer = sample.answer()
    short = dataclasses.replace(answer, parts=answer.parts[:1])
    written = write_report(short, tmp_path, formats=("pdf",))
    assert "html" not in written
    assert not (tmp_path / "writing" / "report.html").exists()


def test_a_format_that_is_not_known_is_refused_before_anything_is_written(tmp_path: Path) -> None:
    with pytest.raises(HingelineError, match="cannot be written as 'docx'"):
        write_report(sample.answer(), tmp_path, formats=("docx",))  # type: ignore[arg-type]
    assert not list(tmp_path.iterdir())


def test_a_folder_that_cannot_be_written_is_said_in_three_parts(tmp_path: Path) -> None:
    (tmp_path / "pictures").write_text("a file where a folder should be")
    with pytest.raises(HingelineError, match="the report cannot be written") as caught:
        write_report(sample.answer(), tmp_path)
    assert "pictures" in caught.value.where
    assert caught.value.todo
