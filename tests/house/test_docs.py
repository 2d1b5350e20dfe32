"""The docs are tested against the code, so that no entry, command or field can go undocumented."""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path

from pydantic import BaseModel
from typer.main import get_command

from hingeline.cli import app
from hingeline.protocol.study import Hospital, Population, Protocol, Typing
from hingeline.records.legend_model import KINDS, VISIT_KINDS, FileOptions, FollowUp, Legend
from hingeline.vocabulary import FIELDS

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"


def _entries(model: type[BaseModel]) -> set[str]:
    found: set[str] = set()
    for name, field in model.model_fields.items():
        inner = field.annotation
        if isinstance(inner, type) and issubclass(inner, BaseModel):
            found |= _entries(inner)
        else:
            found.add(name)
    return found


def test_every_entry_of_the_protocol_is_explained():
    text = (DOCS / "protocol.md").read_text(encoding="utf-8")
    for model in (Protocol, Population, Typing, Hospital):
        for name in _entries(model) - {"population", "typing", "hospitals"}:
            assert f"`{name}`" in text, f"docs/protocol.md does not explain {name}"


def test_every_field_of_a_case_is_explained_with_its_words():
    text = (DOCS / "legends.md").read_text(encoding="utf-8")
    for field in FIELDS:
        if field.name.startswith("source_") or field.name in {"hospital", "age_precision", "birth_month_odd"}:
            continue
        name = {"age_days": "age", "corrected_age_days": "gestation_weeks"}.get(field.name, field.name)
        assert f"`{name}`" in text, f"docs/legends.md does not explain {name}"
        for word in field.values:
            assert f"`{word}`" in text, f"docs/legends.md does not give the word {word!r} of {name}"


def test_every_key_of_a_legend_is_explained():
    text = (DOCS / "legends.md").read_text(encoding="utf-8")
    named = {*KINDS, *VISIT_KINDS, *Legend.model_fields, *FollowUp.model_fields, *FileOptions.model_fields}
    for name in named - {"path", "lines"}:
        assert re.search(rf"\b{name}\b", text), f"docs/legends.md does not explain {name}"


def test_every_command_and_option_is_explained():
    text = (DOCS / "commands.md").read_text(encoding="utf-8")
    for name, command in get_command(app).commands.items():
        assert f"`hingeline {name}" in text, f"docs/commands.md does not explain {name}"
        for parameter in command.params:
            for option in parameter.opts:
                if option.startswith("--") and option != "--help":
                    assert option in text, f"docs/commands.md does not explain {option} of {name}"


def test_links_between_pages_lead_somewhere():
    pages = [*DOCS.glob("*.md"), ROOT / "README.md", ROOT / "CONTRIBUTING.md"]
    for page in pages:
        for target in re.findall(r"\]\((?!https?:)([^)#]+)", page.read_text(encoding="utf-8")):
            assert (page.parent / target).exists(), f"{page.name} links to {target}, which is not there"


def test_the_page_of_rules_is_what_the_rules_say():
    spec = importlib.util.spec_from_file_location("docs_build", DOCS / "build.py")
    assert spec is not None
    assert spec.loader is not None
    build = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(build)
    assert (DOCS / "rules.md").read_text(encoding="utf-8") == build.rules_page(), "call 'make docs'"
