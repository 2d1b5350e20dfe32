"""Make what the docs show of the program: pictures of the invented study, and the page of rules.

Both are made from what the program does today; a test fails when the page of rules is older than the rules.
"""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from hingeline import wording
from hingeline.desk.demo import make_demo
from hingeline.desk.study import Study
from hingeline.records.linking_rules import VISIT_RULES
from hingeline.records.rule import Rule
from hingeline.records.rules import RULES

HERE = Path(__file__).resolve().parent
CAUTION = f"{wording.CAUTION[0].upper()}{wording.CAUTION[1:]}\n"
WANTED = ("direct-share", "repairs-by-age", "recurrence", "repairs-compared")


RULES_HEAD = """\
# Rules

Each groin that is read, and each visit, is asked every rule below. *Set aside*: it is no case (a visit: it is not
joined). *Corrected*: it is a case, with a value changed as the sentence says. *Noted*: it is a case; what could not be
read is left empty. A groin that breaks several rules is counted under the first of its severity and listed under each,
in `by-hand/set-aside.csv`. Made by `make docs`.
"""


def rules_page() -> str:
    """Write the page of rules."""
    parts = [RULES_HEAD]
    for heading, rules in (("Operations", RULES), ("Visits", VISIT_RULES)):
        parts.append(
            f"## {heading}\n| rule | severity | reads | what is wrong | what to do |\n|---|---|---|---|---|"
        )
        parts[-1] += "".join(f"\n{_row(rule)}" for rule in rules) + "\n"
    parts.append(CAUTION)
    return "\n".join(parts)


def _row(rule: Rule) -> str:
    read = ", ".join(rule.fields) if len(rule.fields) <= 4 else f"{len(rule.fields)} fields, each by itself"
    cells = (rule.name, rule.severity, read, rule.sentence, rule.todo)
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def main() -> None:
    """Write the page of rules, then run the demo in a temporary folder and keep some of its pictures."""
    (HERE / "rules.md").write_text(rules_page(), encoding="utf-8")
    with tempfile.TemporaryDirectory() as place:
        root = Path(place) / "demo"
        make_demo(root)
        run = Study(root).run().run
        for name in WANTED:
            shutil.copy(run.path / "pictures" / f"{name}.png", HERE / "pictures" / f"{name}.png")
    print(f"wrote {', '.join(WANTED)} to docs/pictures")


if __name__ == "__main__":
    main()
