"""The invented answer of tests/pictures, loaded by its path: test folders are no packages of one another."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType


def load() -> ModuleType:
    path = Path(__file__).parents[1] / "pictures" / "answer_sample.py"
    spec = importlib.util.spec_from_file_location("answer_sample", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


sample = load()
