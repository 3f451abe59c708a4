"""The soil order as formulas: from what was measured to what is missing and how unsure that is.

Each step is written once, for the one mound of the workbook and for every row of its table of heights. A name in braces
is a step of the same mound; a bare name is a cell that all share. The steps are those of `terrain.soil.layers`,
`terrain.soil.need` and `terrain.soil.ranges`.
"""

from __future__ import annotations

from collections.abc import Mapping

# Built: what stands on day one, settlement included. Missing: loose, to be bought. Spare: placed, fit to use.
STEPS: Mapping[str, str] = {
    "Built": "({Fill_placed}+Topsoil_stripped)*(1+Settlement)",
    "Planting_built": "MIN({Built},{Planting_layer}*(1+Settlement))",
    "Topsoil_on_top": "MIN(Topsoil_placed,{Planting_built})",
    "Topsoil_below": "MIN(Topsoil_placed-{Topsoil_on_top},{Built}-{Planting_built})",
    "Cut_in_fill": "MIN(Usable_placed,{Built}-{Planting_built}-{Topsoil_below})",
    "Planting_missing": "({Planting_built}-{Topsoil_on_top})*Loose_per_placed",
    "Fill_missing": "({Built}-{Planting_built}-{Topsoil_below}-{Cut_in_fill})*Loose_per_placed",
    "Own_spare": "Topsoil_placed-{Topsoil_on_top}-{Topsoil_below}+Usable_placed-{Cut_in_fill}",
    "Balance": (
        "IF({Planting_missing}+{Fill_missing}>0,{Planting_missing}+{Fill_missing},0-{Own_spare}*Loose_per_placed)"
    ),
    "Own_loose": (
        "({Topsoil_on_top}+{Topsoil_below}+{Cut_in_fill}+IF({Balance}<=0,{Own_spare},0))/(1-Ground_shrink)"
        "*Loose_per_placed"
    ),
    "Doubt_ground": "Ground_deviation*(1+Settlement)*Loose_per_placed",
    "Doubt_sod": "Sod_spread*Sod_in_bed*(1+Settlement)*Loose_per_placed",
    "Doubt_swell": (
        "ABS({Built}*Loose_per_placed-{Own_loose}*(1-Ground_shrink))/(1+Swell)*(Swell_high-Swell_low)/SQRT(12)"
    ),
    "Doubt_shrink": (
        "ABS(({Built}*Loose_per_placed-{Own_loose}*(1-Ground_shrink))/(1-Shrink)+{Own_loose}*One_soil)"
        "*(Shrink_high-Shrink_low)/SQRT(12)"
    ),
    "Doubt_own": "{Own_loose}*(1-One_soil)*(Shrink_high-Shrink_low)/SQRT(12)",
    "Doubt_settling": (
        "IF(Settlement>0,{Built}*Loose_per_placed/(1+Settlement)*(Settling_high-Settling_low)/SQRT(12),0)"
    ),
    "Deviation": (
        "SQRT({Doubt_ground}^2+{Doubt_sod}^2+{Doubt_swell}^2+{Doubt_shrink}^2+{Doubt_own}^2+{Doubt_settling}^2)"
    ),
    "Low": "MAX(0,{Balance}-Reach*{Deviation})",
    "High": "MAX(0,{Balance}+Reach*{Deviation})",
    "Needed": "MAX(0,{Balance}+NORMSINV(Chance)*{Deviation})",
    "Planting_needed": (
        "IF({Planting_missing}+{Fill_missing}>0,{Planting_missing}/({Planting_missing}+{Fill_missing})*{Needed},0)"
    ),
    "Fill_needed": "{Needed}-{Planting_needed}",
    "Planting_order": "{Planting_needed}",
    "Fill_order": "{Fill_needed}",
    "Soil_order": "{Planting_order}+{Fill_order}",
    "Planting_trucks": "{Planting_order}",
    "Fill_trucks": "{Fill_order}",
    "Soil_trucks": "IF(Truck_load>0,{Planting_trucks}+{Fill_trucks},0)",
}


def rounded(value: str, step: str = "Step") -> str:
    """`value` rounded up to whole steps, as `terrain.soil.haul.rounded_up` does it."""
    return f"IF({step}>0,{loads(value, step)}*{step},{value})"


def loads(value: str, load: str) -> str:
    """Whole loads of `value`; what is over by less than a billionth of a thousandth is arithmetic, not soil."""
    return f"ROUNDUP({value}/{load}*(1-1E-12),0)"


def formula(step: str, cells: Mapping[str, str]) -> str:
    """The formula of a step, its names in braces replaced by cells."""
    text = STEPS[step].format_map(cells)
    if step in ("Planting_order", "Fill_order"):
        return rounded(text)
    if step in ("Planting_trucks", "Fill_trucks"):
        return f"IF(Truck_load>0,{loads(text, 'Truck_load')},0)"
    return text
