"""`patternvoice pattern`: a field's pattern for one class and wind, as a table, JSON or a drawing."""

import json
from pathlib import Path

from rich.console import Console
from rich.table import Table

from drills.check import load_field
from trainer.drawing.parallels import parallels
from trainer.drawing.pattern import draw
from trainer.errors import TrainerError
from trainer.pattern.plan import PatternPlan
from trainer.pattern.profiles import PROFILES, Profile
from trainer.pattern.summary import LegFigures, PatternFigures, figures

WIDTH = 110


def show_pattern(
    field: str, runway: str | None, aircraft: str, wind: str, svg: Path | None, as_json: bool
) -> int:
    """Print the pattern, and draw it where an SVG file is named. Raises the errors of what it uses."""
    there = load_field(field)
    end = runway or there.runways[-1].end
    plan = PatternPlan.of(there, end, wind)
    profile = _profile(aircraft)
    found = figures(plan, profile)
    title = f"{there.field}, runway {end}, {plan.side} break: {found.aircraft}"
    if svg is not None:
        beside = parallels(there, plan, profile, wind)
        svg.write_text(draw(plan, found, title, beside), encoding="utf-8")
    if as_json:
        print(json.dumps({"field": there.field, **found.as_json()}, ensure_ascii=False, indent=2))
        return 0
    console = Console(highlight=False)
    console.width = min(console.width, WIDTH)
    console.print(f"[bold]{title}[/bold]\n")
    console.print(sizes_table(found))
    console.print()
    console.print(legs_table(found))
    if svg is not None:
        console.print(f"\nDrawn: {svg}", soft_wrap=True)
    return 0


def _profile(aircraft: str) -> Profile:
    name = aircraft.replace("_", " ").replace("-", " ")
    if name not in PROFILES:
        choices = ", ".join(each.replace(" ", "_") for each in PROFILES)
        raise TrainerError(f'no class of aircraft "{aircraft}"', f"use one of {choices}")
    return PROFILES[name]


def sizes_table(found: PatternFigures) -> Table:
    """The pattern's distances, heights and times."""
    winds = [("wind", "calm")]
    if found.wind_kt:
        along = f"{abs(found.headwind_kt):.0f} kt {'head' if found.headwind_kt >= 0 else 'tail'}wind"
        hand = "right" if found.crosswind_from_right_kt >= 0 else "left"
        across = f"{abs(found.crosswind_from_right_kt):.0f} kt from the {hand}"
        winds = [
            ("wind", f"{found.wind_from_deg:03.0f}/{found.wind_kt:.0f}"),
            ("on initial", f"{along}, {across}"),
        ]
    grid = Table.grid(padding=(0, 2, 0, 0))
    rows = (
        *winds,
        ("true airspeed on initial", f"{found.initial_true_kt:.0f} kt"),
        ("initial report to threshold", f"{found.report_to_threshold_s:.0f} s"),
        ("break zone", f"the first {found.break_zone_ft:.0f} ft of the runway"),
        (
            "downwind",
            f"{found.downwind_offset_nm:.2f} NM out; outside downwind {found.outside_offset_nm:g} NM",
        ),
        (
            "perch",
            f"{found.perch_back_nm:.2f} NM back, the threshold {found.perch_angle_deg:.0f}° behind abeam",
        ),
        ("roll-out", f"{found.final_nm:.2f} NM out, {found.roll_out_height_ft:.0f} ft above the field"),
        (
            "short approach",
            f"perch {found.short_perch_back_nm:.2f} NM back, roll-out {found.short_final_nm:.2f} NM out",
        ),
    )
    for name, value in rows:
        grid.add_row(f"[dim]{name}[/dim]", value)
    return grid


def legs_table(found: PatternFigures) -> Table:
    """One line for each leg."""
    table = Table(box=None, pad_edge=False, header_style="dim")
    table.add_column("leg")
    for name in ("NM", "s", "altitude ft", "ground kt", "turn NM", "bank", "g"):
        table.add_column(name, justify="right")
    for leg in found.legs:
        table.add_row(*_cells(leg))
    return table


def _cells(leg: LegFigures) -> tuple[str, ...]:
    turn = ("", "", "")
    if leg.radius_nm is not None and leg.bank_deg is not None and leg.load_factor is not None:
        turn = (f"{leg.radius_nm:.2f}", f"{leg.bank_deg:.0f}°", f"{leg.load_factor:.2f}")
    return (
        leg.leg.value.replace("_", " "),
        f"{leg.length_nm:.2f}",
        f"{leg.seconds:.0f}",
        _from_to(leg.begin_altitude_ft, leg.end_altitude_ft),
        _from_to(leg.begin_ground_kt, leg.end_ground_kt),
        *turn,
    )


def _from_to(begin: float, end: float) -> str:
    return f"{end:.0f}" if round(begin) == round(end) else f"{begin:.0f} → {end:.0f}"
