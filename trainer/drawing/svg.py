"""The pieces of SVG that drawings are made of, and the way from the runway plane to a page, north up."""

import math
from collections.abc import Iterable
from xml.sax.saxutils import escape

from trainer.pattern.plan import PatternPlan

Place = tuple[float, float]

INK = "#222222"


def north_up(plan: PatternPlan, place: Place) -> Place:
    """East and north of the threshold, both in NM, of a place in the runway-aligned plane."""
    x_nm, y_nm = place
    along = math.radians(plan.heading_deg)
    across = along + math.radians(-90.0 if plan.side == "left" else 90.0)
    return (
        x_nm * math.sin(along) + y_nm * math.sin(across),
        x_nm * math.cos(along) + y_nm * math.cos(across),
    )


def text(at: Place, words: str, **how: object) -> str:
    """Words at a place of the page; `how` are attributes, with "_" for "-" and `class_`."""
    more = "".join(f' {key.rstrip("_").replace("_", "-")}="{value}"' for key, value in how.items())
    return f'<text x="{at[0]:.1f}" y="{at[1]:.1f}"{more}>{escape(words)}</text>'


def stroke(places: Iterable[Place], colour: str, width: float, dashes: str = "", more: str = "") -> str:
    """A line through places of the page."""
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in places)
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return (
        f'<polyline points="{points}" fill="none" stroke="{colour}" stroke-width="{width:g}"'
        f' stroke-linejoin="round"{dashed}{more}/>'
    )
