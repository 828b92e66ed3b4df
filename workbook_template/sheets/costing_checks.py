"""The checks of the Costing sheet: its lists against its steps."""

from __future__ import annotations

from workbook_template.sheets.costing_flushes import KEPT
from workbook_template.writing.blocks import ROUNDING, Check

_PARTS = tuple(
    f"{{packs.{key}}}" for key in ("content", "drying", "pack", "packing", "unsold", "delivery")
)
CHECKS = (
    Check(
        "Costing: the product line chosen is not on its list, or not complete",
        '({cost_product}<>"")*(COUNTIFS({products.product},{cost_product},{products.ready},1)=0)',
    ),
    Check(
        "Cost and margin add up to the price after fees",
        "ABS(N({cost_pack_sold})+N({margin_amount})-N({net_price}))*COUNT({margin_amount})",
        ROUNDING,
    ),
    Check(
        "Steps of a block add up to what recipe, strain and all blocks put into it",
        "ABS(SUMIFS({recipe_costs.together},{recipe_costs.recipe},{cost_recipe})"
        "+SUMIFS({strain_costs.spawn},{strain_costs.strain},{cost_strain})"
        "+SUMIFS({strain_costs.incubation},{strain_costs.strain},{cost_strain})"
        "+N({cost_fruited})*SUMIFS({strain_costs.fruiting},{strain_costs.strain},{cost_strain})"
        "+N({cost_common_block})-N({cost_started}))*COUNT({cost_started})",
        ROUNDING,
    ),
    Check(
        "Blocks of usual weeks and idle capacity cover all that is spent, per block",
        # Of a year, programs round in different ways what is left of two large sums.
        "ABS(N({year_carried})+N({year_idle})-N({year_spent}))/MAX(1,N({year_blocks}))"
        "*COUNT({year_carried})*COUNT({year_idle})*COUNT({year_spent})",
        ROUNDING,
    ),
    Check(
        "The product line chosen costs the same in the list of all",
        "ABS(SUMIFS({packs.cost},{packs.product},{cost_product})-N({cost_pack_sold}))"
        "*COUNT({cost_pack_sold})",
        ROUNDING,
    ),
    Check(
        "Costs of packs add up, and with margins to the prices after fees",
        # Where a figure is still blank, its row does not add up yet.
        "ABS(" + "+".join(f"SUM({part})" for part in _PARTS) + "-SUM({packs.cost}))"
        "*(MAX(" + ",".join(f"COUNT({part})" for part in _PARTS) + ")=COUNT({packs.cost}))"
        "+ABS(SUM({packs.cost})+SUM({packs.margin})-SUM({packs.net}))"
        "*(MAX(COUNT({packs.cost}),COUNT({packs.net}))=COUNT({packs.margin}))",
        ROUNDING,
    ),
    Check(
        "A driver that does not change leaves the cost as it is",
        "ABS(SUM({driver_parts.unchanged})-COUNT({driver_parts.unchanged})*N({cost_pack_sold}))",
        ROUNDING,
    ),
    Check(
        "The flushes kept give the contribution of the product line",
        f"ABS(SUMIFS({{flush_worth.contribution}},{{flush_worth.number}},{KEPT})"
        "-SUMIFS({packs.of_block},{packs.product},{cost_product}))"
        f'*COUNTIFS({{flush_worth.number}},{KEPT},{{flush_worth.be}},">=0")',
        ROUNDING,
    ),
    Check(
        "Product lines that Costing has no row for",
        'MAX(0,COUNT({products.ready})-COUNTIF({packs.product},"?*"))',
    ),
)
