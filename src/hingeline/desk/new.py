"""A new study: the folder, a commented protocol, and places for exports and legends.

A path comes in, an empty study goes out; nothing that is there is ever written over.
"""

from __future__ import annotations

from pathlib import Path

from ..errors import HingelineError
from ..records.decisions import COLUMNS
from .folder import not_writable

PROTOCOL = """\
# The protocol of this study. docs/protocol.md explains every entry; what is left out has its default.
format = 1

[study]
title = "Groin hernias in our hospitals"
question = "At what age do direct hernias begin, and when does their share reach one in ten?"
cutoff = 2026-06-30        # data cut-off: an operation after this day is in the future
seed = 1                   # every number can be made again from it

[counting]
direct = ["direct", "combined"]                 # what counts as direct
among = ["indirect", "direct", "combined"]      # out of these
sex = "male"                                    # the headline; women and girls are shown apart
occurrence = "primary"
reasons = ["hernia"]
thresholds = [0.05, 0.10, 0.20, 0.30]
headline_threshold = 0.10

[turns]
most = 3
apart_years = 2.0

[resampling]
replicates = 2000
calibration = 499
audited = 0.05

[privacy]
smallest_cell = 5          # fewest people at risk in anything that may leave

[outcomes]
horizons_years = [1, 2, 5]                      # recurrence is told at these times after the operation
headline_years = 5
age_bands = [0, 12, 18, 30, 50]                 # first age of each band; the last is open
least_at_risk = 10                              # fewer still followed: told with a warning

[contrast]
arms = ["high_ligation", "tissue", "mesh"]
reference = "high_ligation"
ages = [12, 30]                                 # the end excluded
types = ["indirect"]                            # ligation is no option for a direct hernia
estimand = "overlap"                            # those of whom either would be done; or "all"
margin = 0.02                                   # up to 2 points more counts as not worse
adjust = ["age", "hospital", "emergency", "operated_year"]

# One entry for each table of published series to be pooled; one for the sheets of several readers.
# [[series]]
# file = "series/adolescents.csv"               # an example to be edited: label, events, n, kind, source ...
# title = "Recurrence after repair at 10 to 17 years"
#
# [agreement]
# sheets = ["agreement/readers.csv"]
# reference = "second reader"                   # taken as right; leave out to compare readers only
# enters = false                                # whether errors found so enter the turns

# One entry a hospital. Ages are those at which it takes a patient and hands the patient on.
[[hospitals]]
name = "First hospital"
sources = ["sources/first.csv"]
legend = "legends/first.toml"
takes_ages = [0, 18]
setting = "children"       # or "general", or "all ages"
"""

LEGEND = """\
# How to read the export of one hospital. docs/legends.md explains every entry.
hospital = "First hospital"
form = "operations"        # one row an operation; or "patients": one row a patient, left and right columns

[fields.patient]
column = "Patient"

[fields.operated_on]
column = "Operated"

[fields.born_on]
column = "Born"

[fields.sex]
column = "Sex"
codes = { "m" = "male", "f" = "female" }

[fields.side]
column = "Side"
codes = { "l" = "left", "r" = "right", "b" = "both" }

[fields.type]
column = "Type"
codes = { "indirect" = "indirect", "direct" = "direct" }

[dates]
order = "dmy"

[drop]
columns = ["Name"]         # identifiers must not come in
"""

EXAMPLE = "series/adolescents.csv"
EXAMPLE_TITLE = "Recurrence after repair at 10 to 17 years"
"""Where the example of published series stands in a study, and what it is of."""

IGNORED = "# Patient data stay where they are.\nsources/\n.hingeline/\nby-hand/\n"


def make_study(root: Path) -> list[Path]:
    """Make an empty study folder.

    Parameters
    ----------
    root : pathlib.Path
        Must not hold a study yet.

    Returns
    -------
    list of pathlib.Path
        What was written.

    Raises
    ------
    HingelineError
        When a study is there already or the folder cannot be written.
    """
    from ..counts.series import example_series

    protocol = root / "study.toml"
    if protocol.exists():
        raise HingelineError(
            "There is a study here already", str(protocol), "Choose another folder; nothing was changed."
        )
    wanted = {
        protocol: PROTOCOL,
        root / "legends" / "first.toml": LEGEND,
        root / EXAMPLE: example_series(),
        root / ".gitignore": IGNORED,
        root / "decisions.csv": ",".join(COLUMNS) + "\n",
    }
    try:
        (root / "sources").mkdir(parents=True, exist_ok=True)
        for name in ("legends", "series"):
            (root / name).mkdir(exist_ok=True)
        written = []
        for path, text in wanted.items():
            if not path.exists():
                path.write_text(text, encoding="utf-8")
                written.append(path)
    except OSError as error:
        raise not_writable(root, error) from None
    return written
