"""Writes the thirty small exports and their truths. Run: `python tests/records/exports/make_look.py`."""

from __future__ import annotations

from pathlib import Path

from makers import look_english, look_middle, look_south_north
from makers.shape import save

HERE = Path(__file__).parent


def main() -> None:
    folder = HERE / "look"
    folder.mkdir(exist_ok=True)
    total = 0
    for number, export in sorted(
        [*look_english.EXPORTS, *look_middle.EXPORTS, *look_south_north.EXPORTS], key=lambda pair: pair[0]
    ):
        truth = save(export, number, folder)
        mapped = sum(len(truth.get(part, {})) for part in ("fields", "left", "right"))
        total += mapped
        head = f"{number:02d} {export.slug:34s} {export.language} {export.form:10s}"
        print(f"{head} {truth['rows']:3d} rows, {mapped} mappable")
    print("mappable fields in all:", total)


if __name__ == "__main__":
    main()
