"""Notes beside a typed column are counted by what is typed and what is read; only groins that have both count."""

from __future__ import annotations

from hingeline.records.legend import legend_from_text

from .making import PLAIN, sound, take, write_csv

HEADER = ["Pat", "Born", "Operated", "Sex", "Side", "Type", "Note"]
INDIRECT = "Left inguinal hernia. Indirect sac found, posterior wall intact. High ligation."
DIRECT = "Left groin: direct hernia through the floor. Mesh repair."
NEITHER = "Left inguinal hernia repaired."


def _taken(tmp_path, typed_and_noted, legend=PLAIN + 'note = { column = "Note" }\n'):
    rows = [
        [*sound(patient=f"p{number}", born=f"0{number}.04.2010", type=typed), note]
        for number, (typed, note) in enumerate(typed_and_noted, start=1)
    ]
    return take(write_csv(tmp_path / "notes.csv", [HEADER, *rows]), legend_from_text(legend))


def test_groins_with_both_are_counted_in_the_order_of_types(tmp_path):
    found = _taken(
        tmp_path,
        [("med", DIRECT), ("med", DIRECT), ("med", INDIRECT), ("lat", NEITHER), ("", DIRECT), ("lat", "")],
    )
    assert found.compared == (
        ("indirect", "unknown", 1),
        ("direct", "indirect", 1),
        ("direct", "direct", 2),
    )
    assert found.n_cases == 6


def test_without_notes_nothing_is_compared(tmp_path):
    assert _taken(tmp_path, [("med", DIRECT)], PLAIN).compared == ()
