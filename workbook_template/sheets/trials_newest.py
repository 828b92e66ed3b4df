"""The newest change in the logs, which a trial compares while neither treatment is named.

A change is the first batch of a strain with another recipe, spawn lot or steam run than any before
it; before it is what the last batch of the strain had until that day. Only the last batches made
are looked at, of the strain chosen or of all: that bounds the work however long the log is.
"""

from __future__ import annotations

from workbook_template.schema.columns import iso_date
from workbook_template.schema.fields import Computed, Counter
from workbook_template.sheets.trials_verdicts import first_of
from workbook_template.writing.blocks import Calculated, Form, Grid

_LOOKED_AT = 60
"""How many batches are looked at: the last ones made."""

_CHANGES = Grid(
    "changes",
    "The last batches made, the last one first: what was new with them",
    (
        Counter("line", "Place"),
        Computed(
            "row",
            "Row of the batch",
            "count",
            'CHOOSE(1+(COUNT({batches.change_turn})>={line}),"",'
            "MATCH(LARGE({batches.change_turn},{line}),{batches.change_turn},0))",
        ),
        Computed("strain", "Strain", "state", 'INDEX({batches.strain},{row})&""'),
        Computed("treatment", "Treatment", "state", 'INDEX({batches.treatment},{row})&""'),
        Computed("made", "Made", "date", "INDEX({batches.made},{row})*1"),
        Computed(
            "earlier",
            "Earlier ones with the same",
            "count",
            "SUMPRODUCT(({batches.strain}={strain})*({batches.treatment}={treatment})"
            "*({batches.made}<{made}))",
        ),
        Computed(
            "change",
            "First of its treatment",
            "count",
            'CHOOSE(1+({earlier}=0)*(COUNTIFS({changes.strain},{strain},{changes.made},"<"&{made})'
            '>0),"",{line})',
        ),
        Computed(
            "before",
            "Before the newest",
            "count",
            'CHOOSE(1+({strain}={trial_new_strain})*({made}<{trial_new_made}),"",{line})',
        ),
    ),
    rows=_LOOKED_AT,
)


def _newest(column: str) -> str:
    return f"INDEX({{changes.{column}}},{{trial_change}})"


_FIGURES = Form(
    "The newest change",
    (
        Calculated(
            "trial_change",
            "Its place in the list",
            "count",
            'CHOOSE(1+(COUNT({changes.change})>0),"",MIN({changes.change}))',
        ),
        Calculated("trial_new_strain", "Strain", "state", f'{_newest("strain")}&""'),
        Calculated("trial_new", "New treatment", "state", f'{_newest("treatment")}&""'),
        Calculated("trial_new_made", "First made", "date", f"{_newest('made')}*1"),
        Calculated(
            "trial_before",
            "Treatment before it",
            "state",
            "INDEX({changes.treatment},MIN({changes.before}))&LEFT({trial_new},0)",
        ),
    ),
)

_USES_NEWEST = 'N({?trial_logged})*({?trial_a}&{?trial_b}="")*COUNT({?trial_change})'


def _used(key: str, label: str, typed: str, newest: str) -> Calculated:
    template = f'CHOOSE(1+({_USES_NEWEST}>0),{{?{typed}}}&"",{{?{newest}}}&"")'
    return Calculated(key, label, "state", template, "As typed, or of the newest change.")


_COMPARED = Form(
    "What is compared",
    (
        _used("trial_used_strain", "Strain", "trial_strain", "trial_new_strain"),
        _used("trial_used_a", "Treatment A", "trial_a", "trial_before"),
        _used("trial_used_b", "Treatment B", "trial_b", "trial_new"),
    ),
)

_OF_STRAIN = 'REPT(" of "&{?trial_strain},({?trial_strain}<>"")*1)'
_OF_ALL = 'REPT(" Clear Strain for the newest of all.",({?trial_strain}<>"")*1)'
NEWEST = Calculated(
    "trial_newest",
    "Newest in the logs",
    "state",
    first_of(
        (
            "COUNT({?batches.change_turn})=0",
            f'"No batch"&{_OF_STRAIN}&" has a "&{{?trial_kind}}&"."',
        ),
        (
            "COUNT({?trial_change})=0",
            f'"No "&{{?trial_kind}}&{_OF_STRAIN}&" is new in the last "&ROWS({{changes.line}})'
            '&" batches."',
        ),
        otherwise='{?trial_new_strain}&": "&{?trial_kind}&" "&{?trial_new}&", first used "&'
        + iso_date("N({?trial_new_made})")
        + f'&"; before it "&{{?trial_before}}&"."&{_OF_ALL}',
    ),
)
"""Says what changed last, so that nobody has to remember."""
WORKINGS = (_COMPARED, _FIGURES, _CHANGES)
