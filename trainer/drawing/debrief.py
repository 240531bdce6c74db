"""The two drawings of a debrief: the plan of what was flown, and the frequency against time.

SVG that stands inside a page: its colours come from the page's style, for light, dark and print.
"""

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from markupsafe import Markup

from trainer.debrief.account import CallAccount, Chart, Outcome, SessionAccount, Transmission
from trainer.drawing.labels import Box, Labels
from trainer.drawing.svg import Place, text

TONES: dict[Outcome, str] = {
    "accepted": "good",
    "not accepted": "bad",
    "not clear": "doubt",
    "missed": "bad",
}
"""The class of each outcome in the page's style."""

_WIDE, _MARGIN, _MOST_HIGH, _LEAST_HIGH = 720.0, 36.0, 620.0, 200.0
_STRIP_S, _ROW, _LEFT = 600.0, 22.0, 66.0
_APART = 21.0


def plan_view(account: SessionAccount) -> Markup | None:
    """The track, runway and points, with a numbered mark where each call was made; None without a track."""
    chart = account.chart
    if chart is None or len(chart.track) < 2:
        return None
    paper = _Paper(chart)
    track = [paper.at((east, north)) for _, east, north, _, _ in chart.track]
    marks = list(_spread([(call, paper.at(call.place)) for call in account.calls if call.place is not None]))
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDE:.0f} {paper.high:.0f}" role="img"'
        ' aria-label="Plan of the flight, north up">',
        _line([paper.at(end) for end in chart.runway], "line", 9.0),
        _line(track, "track", 1.6),
        *_arrows(track),
        *_points(chart, paper, track, [at for _, _, at in marks]),
        *(piece for call, at, there in marks for piece in _call_mark(call, at, there)),
        *_scale(paper),
        "</svg>",
    ]
    return Markup("\n".join(parts))


class _Paper:
    def __init__(self, chart: Chart) -> None:
        places = [*chart.runway, *((east, north) for _, east, north, _, _ in chart.track)]
        places += [place for place in chart.points.values() if _near(place, places)]
        east, north = zip(*places, strict=True)
        wide, high = max(max(east) - min(east), 0.5), max(max(north) - min(north), 0.5)
        inner = _WIDE - 2 * _MARGIN
        self.per_nm = min(inner / wide, (_MOST_HIGH - 3 * _MARGIN) / high)
        self.high = max(_LEAST_HIGH, high * self.per_nm + 3 * _MARGIN)
        self._left = (_WIDE - wide * self.per_nm) / 2.0
        self._west, self._top = min(east), max(north)

    def at(self, place: Place) -> Place:
        return (
            self._left + (place[0] - self._west) * self.per_nm,
            _MARGIN + (self._top - place[1]) * self.per_nm,
        )

    def holds(self, at: Place) -> bool:
        return 0.0 <= at[0] <= _WIDE and 0.0 <= at[1] <= self.high - _MARGIN


def _near(place: Place, flown: Iterable[Place], nm: float = 1.5) -> bool:
    """A point that was flown to belongs on the paper; one far away would only make all else small."""
    return any(math.dist(place, other) < nm for other in flown)


def _line(places: Iterable[Place], kind: str, width: float) -> str:
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in places)
    return f'<polyline class="{kind}" points="{points}" stroke-width="{width:g}" stroke-linejoin="round"/>'


def _arrows(track: Sequence[Place], every: float = 150.0) -> Iterable[str]:
    """Which way it was flown."""
    passed = every / 2.0
    for (x, y), (to_x, to_y) in pairwise(track):
        step = math.hypot(to_x - x, to_y - y)
        passed += step
        if passed >= every and step > 0.5:
            passed = 0.0
            turned = math.degrees(math.atan2(to_y - y, to_x - x))
            yield (
                f'<path class="own" d="M6 0 L-5 -4 L-5 4 Z"'
                f' transform="translate({to_x:.1f} {to_y:.1f}) rotate({turned:.0f})"/>'
            )


def _points(chart: Chart, paper: _Paper, track: Sequence[Place], marks: Sequence[Place]) -> Iterable[str]:
    labels = Labels(Box(0.0, 0.0, _WIDE, paper.high - _MARGIN), 14.0, [track])
    labels.taken += [Box(x - 11.0, y - 11.0, x + 11.0, y + 11.0) for x, y in marks]
    for name, place in chart.points.items():
        x, y = paper.at(place)
        if not paper.holds((x, y)):
            continue
        yield f'<circle class="dot" cx="{x:.1f}" cy="{y:.1f}" r="4"/>'
        wide = 0.68 * 14.0 * len(name)
        beside = [(-wide / 2, down) for down in (-10.0, 21.0, -22.0, 34.0)]
        aside = (9.0, -9.0 - wide, 22.0, -22.0 - wide)
        beside += [(right, down) for right in aside for down in (5.0, -8.0, 18.0)]
        where = labels.place(name, [(x + right, y + down) for right, down in beside])
        if where is not None:
            yield text(where, name)


def _spread(calls: Sequence[tuple[CallAccount, Place]]) -> Iterable[tuple[CallAccount, Place, Place]]:
    """Each call, its place, and where its number stands so that none lies on another."""
    taken: list[Place] = []
    for call, at in calls:
        free = (place for place in _around(at) if all(math.dist(place, each) >= _APART for each in taken))
        there = next(free)
        taken.append(there)
        yield call, at, there


def _around(at: Place) -> Iterable[Place]:
    yield at
    ring = 0
    while True:
        ring += 1
        for step in range(8 * ring):
            angle = 2.0 * math.pi * step / (8 * ring) - math.pi / 2.0
            yield at[0] + ring * _APART * math.cos(angle), at[1] + ring * _APART * math.sin(angle)


def _call_mark(call: CallAccount, at: Place, there: Place) -> Iterable[str]:
    if at != there:
        yield _line((at, there), "line", 1.0)
    yield f'<a href="#call-{call.number}">{_sign(call.outcome, there)}'
    yield text(there, str(call.number), class_="number") + "</a>"


def _sign(outcome: Outcome, at: Place) -> str:
    """Colour is added to the shape, never in its place."""
    x, y = at
    tone = f'class="call {TONES[outcome]}"'
    match outcome:
        case "accepted":
            return f'<circle {tone} cx="{x:.1f}" cy="{y:.1f}" r="9"/>'
        case "not accepted":
            return f'<rect {tone} x="{x - 8.5:.1f}" y="{y - 8.5:.1f}" width="17" height="17"/>'
        case "not clear":
            return f'<path {tone} d="M{x:.1f} {y - 12:.1f} l12 12 l-12 12 l-12 -12 Z"/>'
        case "missed":
            return f'<path {tone} d="M{x - 11:.1f} {y - 11:.1f} l22 22 m0 -22 l-22 22 m2 -11 h18"/>'


def _scale(paper: _Paper) -> Iterable[str]:
    nm = next(step for step in (1, 2, 5, 10, 20) if step * paper.per_nm >= 60.0 or step == 20)
    y, wide = paper.high - 14.0, nm * paper.per_nm
    yield _line(((_MARGIN, y), (_MARGIN + wide, y)), "ink", 1.5)
    for x in (_MARGIN, _MARGIN + wide):
        yield _line(((x, y - 4.0), (x, y + 4.0)), "ink", 1.5)
    yield text((_MARGIN + wide + 8.0, y + 5.0), f"{nm} NM")


def timeline(account: SessionAccount) -> Markup | None:
    """Who spoke when, ten minutes a strip: the tower, the trainee, the others; None if nobody did."""
    said = account.on_air
    if not said:
        return None
    last = max([each.at + each.seconds for each in said] + [account.ended or 0.0])
    strips = max(1, math.ceil(last / _STRIP_S))
    each_high = 5 * _ROW + 20.0
    tones = {call.number: call for call in account.calls}
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDE:.0f} {strips * each_high:.0f}"'
        ' role="img" aria-label="The frequency against time">'
    ]
    for index in range(strips):
        begin = index * _STRIP_S
        here = [each for each in said if begin <= each.at < begin + _STRIP_S]
        missed = [
            call for call in account.calls if call.outcome == "missed" and begin <= call.at < begin + _STRIP_S
        ]
        parts += _strip(index * each_high, begin, here, missed, account.callsign, tones)
    return Markup("\n".join([*parts, "</svg>"]))


def _strip(
    top: float,
    begin: float,
    said: Sequence[Transmission],
    missed: Sequence[CallAccount],
    callsign: str,
    calls: dict[int, CallAccount],
) -> Iterable[str]:
    per_s = (_WIDE - _LEFT - 10.0) / _STRIP_S
    first = top + 8.0 + _ROW
    rows = {callsign: first, "tower": first + _ROW, "": first + 2 * _ROW}
    for place, name in enumerate(("you", "tower", "others")):
        yield text((0.0, first + place * _ROW + 13.0), name, class_="soft")
    foot = first + 3 * _ROW
    for minute in range(11):
        x = _LEFT + minute * 60.0 * per_s
        yield _line(((x, top + 2.0), (x, foot)), "line", 0.7)
        yield text((x, foot + 15.0), f"{begin / 60.0 + minute:.0f}", class_="soft", text_anchor="middle")
    for each in said:
        x, wide = _LEFT + (each.at - begin) * per_s, max(1.5, each.seconds * per_s)
        kind = "tower" if each.station == "tower" else "own" if each.station == callsign else "other"
        y = rows[each.station if each.station in rows else ""]
        yield f'<rect class="{kind}" x="{x:.1f}" y="{y:.1f}" width="{wide:.1f}" height="{_ROW - 6.0:.0f}"/>'
    own = sorted(
        [(each.at, each.number) for each in said if each.number is not None]
        + [(call.at, call.number) for call in missed]
    )
    places = _apart([_LEFT + (at - begin) * per_s for at, _ in own])
    for x, (_, number) in zip(places, own, strict=True):
        spot = (x, top + 12.0)
        yield f'<a href="#call-{number}">{_sign(calls[number].outcome, spot)}'
        yield text(spot, str(number), class_="number") + "</a>"


def _apart(places: list[float]) -> list[float]:
    """The places, in order, moved right until no number lies on another, and back from the edge again."""
    beyond, edge = _LEFT, _WIDE - 12.0
    for index, x in enumerate(places):
        places[index] = max(beyond, x)
        beyond = places[index] + _APART
    for index in reversed(range(len(places))):
        places[index] = min(places[index], edge)
        edge = places[index] - _APART
    return places
