"""A generated workbook with other inputs, as LibreOffice recalculates it."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from functools import cache
from random import Random
from typing import TYPE_CHECKING, Any

from farm_model import Farm
from openpyxl.cell.cell import MergedCell
from own_figures import spread_of_farm, used_strains
from reading import Part, parts, place, singles, table
from seasons import batch_of
from workbooks import loaded, made

from cultivar_fx.errors import CellError
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.schema.fields import WORKBOOK_DIMENSIONS
from workbook_template.writing.workings import workings_name

if TYPE_CHECKING:
    from office import Document, Office
    from openpyxl import Workbook

    from workbook_template.schema.fields import Field

MODELED = (
    "equipment",
    "ingredients",
    "recipes",
    "recipe_lines",
    "strains",
    "products",
    "unusual_weeks",
    "orders",
    "rhythms",
    "rooms",
    "batches",
    "harvests",
    "losses",
    "markets",
    "sales",
)
WORKINGS = "Week plan workings"
SHEETS = (
    *("Farm", "Ingredients", "Recipes", "Strains", "Products", "Orders", "Costing", "Week plan"),
    *("Forecast", "Steam", "Batches", "Rooms", "Markets", "Sales", "Spawn"),
    *("Year", "Improve", workings_name("Costing"), workings_name("Start"), WORKINGS),
)
FIRST_SERIAL = date(1899, 12, 30)

SINGLES = (
    *("altitude", "hourly_wage", "burden", "electricity_price", "block_mass", "bag_price"),
    *("lost_mass", "mixer_volume", "working_fill", "steamer_efficiency", "blocks_per_load"),
    *("start_temperature", "hold_hours", "hold_power", "spawn_price", "mixing_minutes"),
    *("filling_minutes", "steaming_minutes", "inoculating_minutes", "moving_minutes"),
    *("harvesting_minutes", "turnover_days"),
    *("incubation_energy", "fruiting_energy", "blocks_per_year", "rent", "vehicle"),
    *("fresh_moisture", "dried_moisture", "drying_energy", "drying_minutes", "wanted_margin"),
    *("days_before_market", "bench_hours_per_week", "labor_hours_per_week", "change_1"),
    *("dry_matter_loss", "spent_moisture"),
    *("labor_low", "energy_high", "losses_high"),
)
COLUMNS = (
    *("equipment.price", "equipment.life", "ingredients.bag_price", "ingredients.moisture"),
    *("recipes.target_moisture", "recipes.bulk_density", "strains.spawn_rate"),
    *("strains.incubation_days", "strains.first_flush_days", "strains.flush_interval_days"),
    *("strains.be_1", "strains.be_2", "strains.loss_rate", "products.pack_mass"),
    *("products.price", "products.pack_cost", "products.packing_minutes", "products.delivery"),
    *("products.sold_share", "products.packs_per_week", "unusual_weeks.packs", "rooms.spaces"),
)


class Book:
    """The values of a workbook in the metric system, by section and label or heading."""

    def __init__(self, workbook: Workbook, units: str) -> None:
        self.units = units
        typed = {key: metric(SINGLE_INPUTS[key], value, units) for key, value in _typed(workbook)}
        rows = {
            key: [
                {f.key: metric(f, row[f.key], units) for f in TABLES[key].fields}
                for row in table(workbook, key, units)
                if row[TABLES[key].first.key] is not None
            ]
            for key in MODELED
        }
        self.cost_of_batch = {
            row["batch"]: row["cost"] for row in table(workbook, "batches", units)
        }
        """As computed on the Batches sheet."""
        self.lots = table(workbook, "spawn_lots", units)
        batches = [batch_of(row, rows, typed, typed["as_of"]) for row in rows["batches"]]
        rows["strains"] = used_strains(typed, rows["strains"], rows["harvests"], batches)
        self.farm = Farm(
            typed,
            rows,
            parts(workbook["Steam"])["How fast the core heats up"].values["Soaking time"],
            spread_of_farm(typed, rows["strains"], batches),
            batches,
        )
        names = (
            one
            for one in SHEETS
            if one.startswith(
                ("Costing", "Week plan", "Year", "Markets", "Improve", "Orders", "Start")
            )
        )
        self._parts = {name: parts(workbook[name]) for name in names}
        self.bottleneck = str(workbook["Week plan"]["A6"].value)

    def part(self, sheet: str, title: str) -> Part:
        """Return what stands under a heading, the unit of mass behind it left out."""
        return next(
            part
            for name, part in self._parts[sheet].items()
            if name in (title, f"{title}, lb", f"{title}, kg")
        )

    def rows(self, sheet: str, title: str) -> list[dict[Any, Any]]:
        """Return the filled rows of a list."""
        return [row for row in self.part(sheet, title).rows if next(iter(row.values()))]

    def mass(self, shown: float) -> float:
        """Bring a mass that is shown to kilograms."""
        return self._metric("kg", shown)

    def price_of_mass(self, shown: float) -> float:
        """Bring a price of a mass that is shown to that of a kilogram."""
        return self._metric("money/kg", shown)

    def _metric(self, unit: str, shown: float) -> float:
        return WORKBOOK_DIMENSIONS[unit].to_metric(shown) if self.units == "us" else shown


def _typed(workbook: Workbook) -> list[tuple[str, Any]]:
    return list(singles(workbook).items())


def metric(field: Field, value: Any, units: str) -> Any:
    """Bring what is typed to the metric system; dates to dates."""
    if field.unit == "date":
        return as_date(value)
    if units == "us" and isinstance(value, (int, float)) and field.is_number:
        return field.dimension.to_metric(value)
    return value


def as_date(value: Any) -> date | None:
    """Read a date that a program gives as a date or as its serial number."""
    if isinstance(value, datetime):
        return value.date()
    return FIRST_SERIAL + timedelta(days=value) if isinstance(value, (int, float)) else value


def demo(units: str) -> Book:
    """Read the demo workbook as it is stored."""
    return Book(made(units, "demo").values, units)


@cache
def _canvas(units: str) -> Workbook:
    """Return a copy of the demo for values to be written over."""
    return loaded(made(units, "demo").path)


def recalculated(document: Document, units: str) -> Book:
    """Read an open demo workbook."""
    workbook = _canvas(units)
    for name, lines in document.values(*SHEETS).items():
        sheet = workbook[name]  # the library goes over all sheets to find one
        for row, line in enumerate(lines, 1):
            for column, value in enumerate(line, 1):
                cell = sheet.cell(row, column)
                if not isinstance(cell, MergedCell):
                    cell.value = value.code if isinstance(value, CellError) else value
    return Book(workbook, units)


def changed_at_random(office: Office, units: str, seed: int, changes: int = 20) -> Book:
    """Change inputs of the demo in LibreOffice, each by up to a fifth, and recalculate."""
    with office.kept(made(units, "demo").path) as document:
        change_at_random(document, units, seed, changes)
        return recalculated(document, units)


def change_at_random(document: Document, units: str, seed: int, changes: int = 20) -> None:
    """Change inputs of an open demo, each by up to a fifth."""
    random = Random(seed)
    for key in random.sample((*SINGLES, *COLUMNS), changes):
        _change(document, made(units, "demo").values, key, units, random)


def with_product(office: Office, units: str, product: str) -> Book:
    """Choose another product line on Costing in LibreOffice, and recalculate."""
    at = place(made(units, "demo").values, "cost_product")
    with office.kept(made(units, "demo").path) as document:
        document.write(at.sheet, at.row, at.column, [[product]])
        return recalculated(document, units)


def _change(document: Document, workbook: Workbook, key: str, units: str, random: Random) -> None:
    at = place(workbook, key)
    name, _, column = key.partition(".")
    field = TABLES[name].column(column) if column else SINGLE_INPUTS[key]
    filled = len(table(workbook, name, units)) if column else 1
    row = at.row + random.randrange(filled)
    cell = workbook[at.sheet].cell(row + 1, at.column + 1)
    if cell.value is None:
        return
    value = cell.value * random.uniform(0.8, 1.2)
    if field.dimension.is_share:
        value = max(-0.9, min(value, 0.97))
    document.write(at.sheet, row, at.column, [[round(value) if field.bounds.whole else value]])
