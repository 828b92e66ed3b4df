"""The list of changes: what each is worth a week, how sure that is, and the order of the page."""

from __future__ import annotations

import re

from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.improve import ONCE
from workbook_template.sheets.costing_parts import number_of
from workbook_template.sheets.improve_changes import CASES, CHANGES
from workbook_template.sheets.improve_week import worth
from workbook_template.sheets.money_text import whole_money
from workbook_template.sheets.trials_verdicts import first_of
from workbook_template.sheets.what_helps import IS_KNOWN
from workbook_template.writing.blocks import Calculated, Form, Grid
from workbook_template.writing.sentences import Sentences

YES, NOT_YET, AS_TYPED = "yes", "not known yet", "if as typed"
_MANY = 365
"""More batches than that are said as so many: one a day for a year."""


_SINGLE = re.compile(r"\{(?=\w+\})")


def _each(*templates: str) -> str:
    """Write what each change has of its own; a row waits for no cell of the others."""
    own = (_SINGLE.sub("{?", one) for one in templates)
    return f"CHOOSE({{number}},{','.join(own)})"


def _known(*templates: str) -> str:
    """Write a figure of each change; blank where it is not known."""
    return f'IFERROR({_each(*templates)}*1,"")'


_ONCE_KEYS = {field.key for field in ONCE.fields}
_PRICE = "INDEX({helps_stations.price},{helps_tightest})"
_ONCE = [
    f'CHOOSE(1+COUNT({{once_{one.key}}}),"",{{once_{one.key}}})'
    if f"once_{one.key}" in _ONCE_KEYS
    else f'CHOOSE(1+COUNT({{helps_tightest}}),"",CHOOSE(1+COUNT({_PRICE}),"",{_PRICE}))'
    for one in CHANGES
]
_ENDS = "{of_low},{of_expected},{of_high}"
_SURE = (
    f'CHOOSE(1+({{high}}>{{rounding}}),CHOOSE(1+({{low}}<0-{{rounding}}),"brings nothing",'
    f'"costs money"),CHOOSE(1+ISNUMBER(FIND("typed",{{basis}})),'
    f'CHOOSE(1+({{low}}>{{rounding}}),"{NOT_YET}","{YES}"),'
    f'CHOOSE(1+({{low}}<0-{{rounding}}),"{AS_TYPED}","{NOT_YET}")))'
)
"""Only what records show to pay, at its lowest, too, is sure."""

LIST = Grid(
    "improve_list",
    "Each change",
    (
        Computed(
            "change",
            "Change",
            "state",
            f'CHOOSE(1+COUNT({{money}}),"",{_each(*(one.words for one in CHANGES))})',
        ),
        *(
            Computed(
                f"of_{case}",
                f"A week, {words}",
                "money",
                _known(*(worth(one, case) for one in CHANGES)),
            )
            for case, words in CASES.items()
        ),
        Computed(
            "money",
            "A week",
            "money",
            f'CHOOSE(1+(COUNT({_ENDS})=3)*COUNT({{?improve_known}}),"",{{of_expected}})',
        ),
        Computed("low", "Lowest", "money", f"MIN({_ENDS})+0*{{money}}"),
        Computed("high", "Highest", "money", f"MAX({_ENDS})+0*{{money}}"),
        Computed("once", "Once", "money", _each(*_ONCE)),
        Computed("sure", "Sure?", "state", f'CHOOSE(1+COUNT({{money}}),"",{_SURE})'),
        Computed("needed", "Batches needed", "count", _known(*(one.batches for one in CHANGES))),
        Computed(
            "batches",
            "Batches of each kind that would tell",
            "state",
            f'CHOOSE(1+({{sure}}="{NOT_YET}")*COUNT({{?needed}}),"",'
            f'CHOOSE(1+(N({{?needed}})>{_MANY}),{{?needed}}&"","over {_MANY}"))',
        ),
        Computed(
            "basis",
            "Rests on",
            "state",
            f'CHOOSE(1+COUNT({{money}}),"",{_each(*(one.basis for one in CHANGES))})',
        ),
        Computed(
            "measure",
            "What to measure",
            "state",
            f'CHOOSE(1+COUNT({{money}}),"",{_each(*(one.measure for one in CHANGES))})',
        ),
        Computed(
            "sorts",
            "Money, and more than all where it is sure",
            "money",
            f'{{money}}+({{sure}}="{YES}")'
            "*(1+MAX({improve_list.money})-MIN({improve_list.money}))",
        ),
        Computed(
            "place",
            "Place",
            "count",
            "RANK({sorts},{improve_list.sorts})"
            "+SUMPRODUCT(({improve_list.sorts}={sorts})*({improve_list.number}<{number}))",
        ),
        Counter("number"),
    ),
    rows=len(CHANGES),
)


def _there(column: str) -> str:
    return f"INDEX({{improve_list.{column}}},{{at}})"


RANKED = Grid(
    "improve",
    "Changes in a usual week: first what your records show to pay, then by what they may bring",
    (
        Computed("change", "Change", "state", f'{{place}}&". "&{_there("change")}'),
        Computed("money", "Brings a week", "money", f"{_there('money')}*1"),
        Computed("low", "Lowest", "money", f"{_there('low')}*1"),
        Computed("high", "Highest", "money", f"{_there('high')}*1"),
        Computed("once", "Costs once", "money", f"{_there('once')}*1"),
        Computed(
            "payback",
            "Paid back, weeks",
            "number",
            'CHOOSE(1+({money}>{rounding}),"",ROUND({once}/{money},1))',
        ),
        Computed("sure", "Sure?", "state", f'{_there("sure")}&""'),
        Computed("batches", "Batches that would tell", "state", f'{_there("batches")}&""'),
        Computed("basis", "Rests on", "state", f'{_there("basis")}&""'),
        Computed("measure", "What to measure", "state", f'{_there("measure")}&""'),
        Counter("place"),
        Computed(
            "at",
            "Row in the list",
            "count",
            'CHOOSE(1+(COUNT({improve_list.place})>={place}),"",'
            f"{number_of('{place}', 'improve_list.place', 'improve_list.number')})",
            is_working=True,
        ),
    ),
    rows=len(CHANGES),
)


def _amount(column: str, currency: str) -> str:
    return whole_money(f"INDEX({{improve.{column}}},1)", currency)


def _top(column: str) -> str:
    return f"INDEX({{improve_list.{column}}},INDEX({{improve.at}},1))"


def words(currency: str) -> Calculated:
    """Make the sentence on the change worth most, as Improve and Start say it."""
    batches = (
        f'CHOOSE(1+({_top("batches")}<>""),"",": "&{_top("batches")}'
        '&" batches of each kind would tell")'
    )
    known = f'REPT(" by your records",({_top("sure")}="{YES}")*1)'
    typed = f'REPT(", {AS_TYPED}: a guess, to be measured first",({_top("sure")}="{AS_TYPED}")*1)'
    return Calculated(
        "improve_words",
        "The change worth most",
        "state",
        'CHOOSE(1+(MAX({improve.money})>{rounding}),"Nothing on the list would bring more.",'
        f'"The change worth most"&{known}&": "&{_top("change")}&", about "'
        f'&{_amount("money", currency)}&" a week ("'
        f'&{_amount("low", currency)}&" to "&{_amount("high", currency)}&{typed}&")"'
        f'&CHOOSE(1+({_top("sure")}="{NOT_YET}"),"","; {NOT_YET}"&{batches})&".")',
        "As on the Start sheet.",
        waits_for=("improve_known",),
    )


_ANSWER = first_of(
    (
        "SUM({helps_lines.packs})=0",
        '"Enter packs a week for your product lines on the Products sheet first."',
    ),
    (
        f"{IS_KNOWN}=0",
        '"Enter the prices and costs of all product lines and the capacity of each station '
        'first. The Costing sheet says what is missing."',
    ),
    otherwise='{?improve_words}&CHOOSE(1+COUNT({?helps_also}),""," Another station '
    'would still be over its capacity, so that some of it may not be reached: see the Week plan.")',
)
START = "REPT({?improve_words},COUNT({?improve_known}))"
"""For the Start sheet: nothing while something is missing."""


ANSWER = Sentences("The change worth most", {"improve_answer": _ANSWER})


def _end(key: str, end: str, sign: str) -> Calculated:
    row = f"{{improve_{key}_row}}"
    own = (
        f"1{sign}N(INDEX({{by_strain.be_half}},{row}))/MAX({{rounding}},"
        f"N(INDEX({{by_strain.be}},{row})))"
    )
    typed = {"least": "{be_low}*1", "most": "{be_high}*1"}[end]
    return Calculated(
        f"improve_{key}_{end}",
        f"One flush {key}: its BE, {'lowest' if end == 'least' else 'highest'}",
        "number",
        f"CHOOSE(1+{{improve_{key}_own}},{typed},{'MAX(0,' + own + ')' if sign == '-' else own})",
        "Times the BE expected of that flush.",
        waits_for=(f"improve_{key}_row",),
    )


def _own(key: str, flush: str) -> Calculated:
    row = f"{{improve_{key}_row}}"
    counts = ",".join(f"N(INDEX({{own_counts.be_{one}}},{row}))" for one in range(1, 5))
    return Calculated(
        f"improve_{key}_own",
        f"One flush {key}: enough own batches",
        "count",
        f"(COUNT(INDEX({{by_strain.be_half}},{row}))*CHOOSE({flush},{counts},0)"
        ">={enough_batches})*1",
        "That gave the flush; else the range of BE on the Costing sheet.",
        waits_for=(f"improve_{key}_row",),
    )


BASIS = Form(
    "Basis",
    (
        Calculated(
            "improve_known",
            "All is known",
            "count",
            f'CHOOSE(1+({IS_KNOWN}*(SUM({{helps_lines.packs}})>0)>0),"",1)',
            "1 once a usual week can be filled.",
        ),
        Calculated(
            "improve_minute",
            "A minute of work",
            "money",
            "CFX.LABOR_COST(1,{hourly_wage},{burden})",
            "With the payroll burden.",
        ),
        Calculated(
            "improve_hold_hour",
            "An hour of the hold, for each block",
            "money/block",
            "{hold_power}*{electricity_price}*(1/{blocks_per_load}+{cost_more_steam})",
            "As many loads as in a usual week.",
        ),
        _own("less", "INDEX({used.flushes},{improve_less_row})"),
        _end("less", "least", "-"),
        _end("less", "most", "+"),
        _own("more", "1+INDEX({used.flushes},{improve_more_row})"),
        _end("more", "least", "-"),
        _end("more", "most", "+"),
    ),
)
