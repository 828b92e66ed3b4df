"""Does it add up: what was picked against what was sold, on the Markets sheet."""

from __future__ import annotations

from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.materials import STRAINS
from workbook_template.sheets.costing_parts import number_of
from workbook_template.sheets.results_groups import listed
from workbook_template.writing.blocks import Calculated, Check, Form, Grid

_PICKED = '{harvests.date},">="&{masses_from},{harvests.date},"<"&{today}+1'
_SOLD = _PICKED.replace("harvests", "sales")


def _mass(column: str, where: str) -> str:
    """Write the fresh mass of the sales meant; blank while one of them is unknown."""
    cells = f"{{sales.{column}}}"
    known = f'COUNTIFS({where},{cells},">=0")=COUNTIFS({where})'
    return f'CHOOSE(1+({known}),"",SUMIFS({cells},{where}))'


def _of_strain(column: str) -> str:
    return f"SUMIFS({{harvests.{column}}},{{harvests.strain}},{{strain}},{_PICKED})"


_SOLD_OF_IT = f"{{sales.at_strain}},{{line}},{_SOLD}"
_BY_STRAIN = Grid(
    "strain_masses",
    "Picked and sold by strain",
    (
        Computed("strain", "Strain", "state", listed("strains", "strain")),
        Computed("picked", "Picked", "kg", _of_strain("fresh")),
        Computed("unsold", "Unsold, by Harvests", "kg", _of_strain("unsold")),
        Computed("sold", "Sold", "kg", _mass("fresh_sold", _SOLD_OF_IT)),
        Computed(
            "too_much",
            "Sold beyond what was picked",
            "count",
            "({picked}>0)*({sold}>({picked}-{unsold})*(1+{rounding}))",
        ),
        Counter("line"),
    ),
    rows=STRAINS.rows,
)
WORKINGS = (
    Form(
        "Harvests that the sales are held against",
        (
            Calculated(
                "masses_from",
                "Harvests from",
                "date",
                'CHOOSE(1+(COUNT({sales.date})>0),"",MIN({sales.date})-{days_kept})',
                "So many days before the first sale as mushrooms are kept at most.",
            ),
            Calculated(
                "masses_taken",
                "Packs taken along",
                "kg",
                _mass("fresh_taken", _SOLD),
                "Fresh mass, before drying.",
            ),
            Calculated(
                "masses_wrong",
                "Strains sold beyond what was picked",
                "count",
                "SUM({strain_masses.too_much})+0*{masses_from}",
                "Of those of which something was picked.",
            ),
            Calculated(
                "masses_home_over",
                "Packs not sold beyond Unsold",
                "kg",
                "({masses_unsold}>0)*MAX(0,{masses_home}-{masses_unsold}*(1+{rounding}))",
                "0 where Harvests has none: it is then logged on Sales alone.",
            ),
        ),
    ),
    _BY_STRAIN,
)


def form(mass: str) -> Form:
    """Make the form; its sentence says masses in the unit given."""

    def said(amount: str) -> str:
        return f'ROUND({amount},0)&" {mass}"'

    strain = number_of("1", "strain_masses.too_much", "strain_masses.line")
    words = (
        "CHOOSE(1+({masses_picked}>0),"
        '"Nothing is logged on the Harvests sheet for these weeks.",'
        "CHOOSE(1+({masses_wrong}>0),"
        "CHOOSE(1+({masses_home_over}>0),"
        f'CHOOSE(1+(ROUND({{masses_open}},0)>0),"All that was picked is sold or logged as unsold.",'
        f'{said("{masses_open}")}&" of what was picked is neither sold nor logged as unsold: "'
        '&"it is still in the cold room, or was eaten, given away, or sold without a row here."),'
        f'"Packs not sold weigh "&{said("{masses_home}-{masses_unsold}")}'
        '&" more than Unsold on the Harvests sheet: enter them there, too."),'
        f'"More "&INDEX({{strain_masses.strain}},{strain})&" was sold than was picked: "'
        '&"a sale is in twice, or a picking is missing."))'
    )
    return Form(
        "Does it add up?",
        (
            Calculated(
                "masses_picked",
                "Picked",
                "kg",
                f"SUMIFS({{harvests.fresh}},{_PICKED})",
                "On the Harvests sheet, from some days before the first sale until today.",
            ),
            Calculated(
                "masses_unsold",
                "Unsold, by Harvests",
                "kg",
                f"SUMIFS({{harvests.unsold}},{_PICKED})",
                "Spoiled or given away.",
            ),
            Calculated(
                "masses_sold",
                "Sold",
                "kg",
                _mass("fresh_sold", _SOLD),
                "Fresh mass of all packs sold, before drying.",
            ),
            Calculated(
                "masses_home",
                "Packs not sold",
                "kg",
                "{masses_taken}-{masses_sold}",
                "Taken along and not sold; also part of Unsold, if you log both.",
            ),
            Calculated(
                "masses_open",
                "Not accounted for",
                "kg",
                "{masses_picked}-{masses_unsold}-{masses_sold}",
                "Picked, less unsold by Harvests, less sold.",
                is_key=True,
            ),
            Calculated("masses_words", "In plain words", "state", words),
        ),
    )


CHECKS = (
    Check(
        "Markets: of no strain is more sold than was picked",
        "N({masses_wrong})",
        is_warning=True,
    ),
    Check(
        "Markets: packs not sold weigh no more than Unsold on Harvests",
        "N({masses_home_over})",
        is_warning=True,
    ),
)
