"""The one direction of flow: an import that runs the wrong way fails here and in `make lint`."""

from __future__ import annotations

from pathlib import Path

from importlinter import api, cli

ROOT = Path(__file__).parents[2]


def test_every_import_runs_down_the_list(monkeypatch, capsys):
    monkeypatch.chdir(ROOT)
    code = cli.lint_imports(config_filename=str(ROOT / ".importlinter"), no_cache=True)
    assert code == 0, capsys.readouterr().out


def test_each_part_of_the_design_stands_in_a_contract():
    text = (ROOT / ".importlinter").read_text()
    parts = {p.name for p in (ROOT / "src" / "hingeline").iterdir() if p.is_dir() and p.name != "__pycache__"}
    assert parts, "no parts found"
    for part in parts:
        assert f"hingeline.{part}" in text, f"{part} stands in no contract"
    assert api.read_configuration(str(ROOT / ".importlinter"))["contracts_options"]
