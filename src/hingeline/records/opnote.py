"""Operation notes in free text to type, side, repair and the rest, with the words that decided: the door to its parts.

`read_note` reads one, `read_notes` many into a table. Text goes down once: `opnote_text` (words with places),
`opnote_scan` (spots, sentences, headings), `opnote_scopes` (negation, doubt, time), `opnote_sides`, `opnote_types` and
`opnote_repairs` (evidence, with `opnote_mesh`, `opnote_ways`, `opnote_sewn` and `opnote_tied`), `opnote_verdict` with
`opnote_done`. The words are tables in `opnote_lexicon` and `opnote_triggers`.
"""

from __future__ import annotations

from .opnote_read import GroinRead, NoteRead, Words, read_note
from .opnote_table import SCHEMA, read_notes

__all__ = ["SCHEMA", "GroinRead", "NoteRead", "Words", "read_note", "read_notes"]
