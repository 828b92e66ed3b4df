"""The Trace sheet in words: what was touched, when it was sold, what else shares a batch's lot."""

from __future__ import annotations

from workbook_template.schema.columns import iso_date
from workbook_template.schema.trace import KINDS, Kind, day_of_turn
from workbook_template.sheets.trials_verdicts import first_of
from workbook_template.writing.blocks import Calculated, Form

_KINDS = [f"a {kind.choice.label.lower()}" for kind in KINDS]
ANY = f"{', '.join(_KINDS[:-1])} or {_KINDS[-1]}"
"""What can be traced."""
_NAMED = 8
"""How many other batches of the same lot or run a sentence names."""
_SHARED = [kind for kind in KINDS if kind.column]
_BATCH = next(number for number, kind in enumerate(KINDS, 1) if kind.choice.key == "trace_batch")


def _of_kind(*alternatives: str, none: str) -> str:
    return f"CHOOSE({{trace_kind}},{','.join(alternatives)},{none})"


def _first_filled() -> str:
    """Number the first kind that is filled; behind the last one where none is."""
    number = "1"
    for kind in reversed(KINDS):
        number = f'1+({{{kind.choice.key}}}="")*({number})'
    return number


_FOUND = [f"IFERROR(MATCH({{{k.choice.key}}},{{{k.choice.choices}}},0),0)" for k in KINDS]
_LABELS = [f'"{kind.choice.label}"' for kind in KINDS]
_HARVEST_TURN = "{harvests.traced}"
_UNDATED = f'COUNTIF({_HARVEST_TURN},"<"&(1+ROWS({{harvests.date}})))'
_DATED = f"(COUNT({_HARVEST_TURN})>{_UNDATED})"


def _day(turn: str) -> str:
    return f'CHOOSE(1+{_DATED},"",{day_of_turn(turn, "harvests.date")})'


def market_on_or_after(day: str) -> str:
    """Write the first market day that is not before a day."""
    return f"{day}+MOD({{plan_market}}-WEEKDAY({day}-1)+1,7)"


_IS_TRACED = '">0"'


def _sum(column: str, *criteria: str) -> str:
    table = column.partition(".")[0]
    return f"SUMIFS({','.join((f'{{{column}}}', f'{{{table}.traced}}', _IS_TRACED, *criteria))})"


FIGURES = Form(
    "What is traced",
    (
        Calculated("trace_kind", "Kind, by its place in the form", "count", _first_filled()),
        Calculated(
            "trace_filled",
            "How many are filled",
            "count",
            "+".join(f'({{{kind.choice.key}}}<>"")' for kind in KINDS),
        ),
        Calculated("trace_at", "Row in its list", "count", _of_kind(*_FOUND, none="0")),
        Calculated("trace_label", "Kind", "state", _of_kind(*_LABELS, none='""')),
        Calculated(
            "trace_name",
            "Name",
            "state",
            _of_kind(*(f'{{{kind.choice.key}}}&""' for kind in KINDS), none='""'),
        ),
        Calculated("trace_batches", "Batches", "count", "COUNT({batches.traced})"),
        Calculated("trace_blocks", "Blocks", "count", _sum("batches.bags")),
        Calculated("trace_lost", "Blocks lost", "count", _sum("batches.lost")),
        Calculated(
            "trace_standing",
            "Blocks still standing",
            "count",
            _sum("batches.good", "{batches.state}", '"<>ended"'),
        ),
        Calculated("trace_fresh", "Fresh mass", "kg", _sum("harvests.fresh")),
        Calculated("trace_unsold", "Unsold", "kg", _sum("harvests.unsold")),
        Calculated(
            "trace_first",
            "First picking",
            "date",
            _day(f"SMALL({_HARVEST_TURN},1+{_UNDATED})"),
        ),
        Calculated("trace_last", "Last picking", "date", _day(f"MAX({_HARVEST_TURN})")),
        Calculated("trace_sold_first", "Sold from", "date", market_on_or_after("{trace_first}")),
        Calculated("trace_sold_last", "Last sold from", "date", market_on_or_after("{trace_last}")),
    ),
)


def _several(count: str, one: str, plural: str) -> str:
    return f'{{{count}}}&CHOOSE(1+({{{count}}}=1)," {plural}"," {one}")'


def summary(mass: str) -> str:
    """Write what was touched, in sum, or what to pick first; masses in the given unit."""
    which = '{trace_label}&" "&{trace_name}'
    into = _of_kind(
        *(
            f'" {kind.verb} "'
            + ("" if number == _BATCH else f'&{_several("trace_batches", "batch", "batches")}&", "')
            for number, kind in enumerate(KINDS, 1)
        ),
        none='""',
    )
    first, last = (iso_date(f"N({{?trace_{end}}})") for end in ("first", "last"))
    picked = (
        f'ROUND({{trace_fresh}},1)&" {mass} picked"&CHOOSE(1+COUNT({{?trace_last}}),"",'
        f'CHOOSE(1+(N({{?trace_first}})=N({{?trace_last}}))," from "&{first}&" to "," on ")&{last})'
    )
    standing = (
        'CHOOSE(1+({trace_standing}>0),"no block still stands",'
        '{trace_standing}&CHOOSE(1+({trace_standing}=1)," blocks still stand",'
        '" block still stands"))'
    )
    touched = (
        f"{which}&{into}&{_several('trace_blocks', 'block', 'blocks')}"
        f'&": "&CHOOSE(1+({{trace_lost}}>0),"none",{{trace_lost}}&"")&" lost, "'
        f'&CHOOSE(1+({{trace_fresh}}>0),"nothing picked so far",{picked})&"; "&{standing}&"."'
    )
    several = (
        'CHOOSE(1+({trace_filled}>1),"","More than one is filled: only the "'
        '&LOWER({trace_label})&" is traced. ")&'
    )
    return first_of(
        ("{trace_filled}=0", f'"Pick {ANY} above."'),
        (
            "{trace_at}=0",
            f'{several}"No "&LOWER({{trace_label}})&" is called "&{{trace_name}}'
            '&": pick one from the list of the cell."',
        ),
        ("{trace_batches}=0", f'{several}{which}&" is in no row of the Batches sheet."'),
        otherwise=several + touched,
    )


def sold(mass: str) -> str:
    """Write from which market days on it was sold; masses in the given unit."""
    first, last = (iso_date(f"N({{?trace_sold_{end}}})") for end in ("first", "last"))
    return first_of(
        ("{trace_batches}=0", '""'),
        (
            "COUNT({?trace_last})=0",
            '"Nothing was picked, so no mushrooms were sold. Blocks sold whole are not logged."',
        ),
        otherwise=f'"On sale from the market of "&{first}'
        f'&CHOOSE(1+(N({{?trace_sold_last}})>N({{?trace_sold_first}})),"",", the last picking from '
        f'that of "&{last})&"; "&CHOOSE(1+({{trace_unsold}}>0),"nothing",'
        f'ROUND({{trace_unsold}},1)&" {mass}")&" logged as unsold."',
    )


def _step(kind: Kind, number: int) -> str:
    return f"same_{kind.column}_{number}"


def _next_row(kind: Kind, number: int) -> str:
    """Write the row of the next batch with the same lot or run: each look-up starts below."""
    column = f"{{batches.{kind.column}}}"
    own = f"INDEX({column},{{trace_at}})"
    if number == 1:
        is_named = f"COUNT(INDEX({{batches.{kind.place}}},{{trace_at}}))"
        is_batch = f"({{trace_kind}}={_BATCH})*({{trace_at}}>0)"
        first = f'IFERROR(MATCH({own},{column},0),"")'
        return f'CHOOSE(1+{is_batch},"",CHOOSE(1+{is_named},"",{first}))'
    above = f"{{{_step(kind, number - 1)}}}"
    rest = f"INDEX({column},{above}+1):INDEX({column},ROWS({column}))"
    return f'IFERROR({above}+MATCH({own},{rest},0),"")'


def _rows_of(kind: Kind) -> Form:
    return Form(
        f"Rows of batches with the same {kind.choice.label.lower()}",
        [
            Calculated(_step(kind, number), f"Batch {number}", "count", _next_row(kind, number))
            for number in range(1, _NAMED + 2)
        ],
    )


def _same(kind: Kind) -> str:
    steps = [f"{{?{_step(kind, number)}}}" for number in range(1, _NAMED + 2)]
    names = "&".join(
        f'CHOOSE(1+COUNT({step})*(N({step})<>{{trace_at}}),"",", "&INDEX({{batches.batch}},{step}))'
        for step in steps
    )
    own = f"INDEX({{batches.{kind.place}}},{{trace_at}})"
    others = f"(COUNTIF({{batches.{kind.place}}},{own})-1)"
    named = f"(COUNT({','.join(steps)})-1)"
    return (
        f'CHOOSE(1+COUNT({steps[0]}),"","Same {kind.choice.label.lower()}, "'
        f'&INDEX({{batches.{kind.column}}},{{trace_at}})&": "'
        f'&CHOOSE(1+({others}>0),"no other batch",MID({names},3,LEN({names})))'
        f'&CHOOSE(1+({others}>{named}),"",", and more")&". ")'
    )


def same() -> str:
    """Write which other batches have the spawn lot or steam run of the batch that is traced."""
    return "&".join(map(_same, _SHARED))


WORKINGS = (FIGURES, *map(_rows_of, _SHARED))
