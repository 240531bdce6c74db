"""The plot of the study of denials: panels of lines with bands against demand, readable on light and on dark."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from trainer.drawing.svg import Place, stroke, text

WIDE, HIGH, LEFT, TOP, BETWEEN, FOOT = 400.0, 260.0, 60.0, 60.0, 80.0, 50.0
COLOURS = ("#3f8fd2", "#d9822b")
AXIS = "#8a9099"
STYLE = (
    "<style>text{fill:#24292f}.paper{fill:#ffffff}"
    "@media (prefers-color-scheme: dark){text{fill:#d7dce2}.paper{fill:#0d1117}}</style>"
)


@dataclass(frozen=True)
class Line:
    """`band` is low and high at each x."""

    name: str
    x: Sequence[float]
    y: Sequence[float]
    band: Sequence[tuple[float, float]]


def plot(panels: Sequence[tuple[str, Sequence[Line]]], below: str) -> str:
    """The SVG document; `below` names the common horizontal axis."""
    wide = LEFT + len(panels) * (WIDE + BETWEEN)
    high = TOP + HIGH + FOOT
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:.0f} {high:.0f}" width="{wide:.0f}"'
        f' height="{high:.0f}" font-family="sans-serif" font-size="13">',
        STYLE,
        '<rect class="paper" width="100%" height="100%"/>',
    ]
    for index, line in enumerate(panels[0][1]):
        x = LEFT + index * 200.0
        parts.append(stroke(((x, 20.0), (x + 30.0, 20.0)), COLOURS[index], 2.5))
        parts.append(text((x + 38.0, 24.0), line.name))
    for index, (title, found) in enumerate(panels):
        parts += _panel(LEFT + index * (WIDE + BETWEEN), title, found, below)
    return "\n".join((*parts, "</svg>")) + "\n"


def _panel(left: float, title: str, found: Sequence[Line], below: str) -> Iterable[str]:
    most_x = max(max(line.x) for line in found)
    most = max(high for line in found for _, high in line.band)
    every = next(step for step in (1.0, 2.0, 5.0, 10.0, 20.0, 50.0) if most / step <= 6.0 or step == 50.0)
    top_y = every * (int(most / every) + 1)

    def at(x: float, y: float) -> Place:
        return left + WIDE * x / most_x, TOP + HIGH * (1.0 - y / top_y)

    yield text((left, TOP - 14.0), title, font_weight="bold")
    for count in range(int(top_y / every) + 1):
        y = at(0.0, count * every)[1]
        yield stroke(((left, y), (left + WIDE, y)), AXIS, 0.5)
        yield text((left - 8.0, y + 4.0), f"{count * every:g}", text_anchor="end")
    for x in sorted({x for line in found for x in line.x}):
        yield text((at(x, 0.0)[0], TOP + HIGH + 18.0), f"{x:g}", text_anchor="middle")
    yield text((left + WIDE / 2.0, TOP + HIGH + 38.0), below, text_anchor="middle")
    for colour, line in zip(COLOURS, found, strict=False):
        edge = [at(x, low) for x, (low, _) in zip(line.x, line.band, strict=True)]
        edge += [at(x, high) for x, (_, high) in reversed(list(zip(line.x, line.band, strict=True)))]
        corners = " ".join(f"{x:.1f},{y:.1f}" for x, y in edge)
        yield f'<polygon points="{corners}" fill="{colour}" fill-opacity="0.18"/>'
        yield stroke((at(x, y) for x, y in zip(line.x, line.y, strict=True)), colour, 2.5)
        for x, y in zip(line.x, line.y, strict=True):
            px, py = at(x, y)
            yield f'<circle cx="{px:.1f}" cy="{py:.1f}" r="3.5" fill="{colour}"/>'
