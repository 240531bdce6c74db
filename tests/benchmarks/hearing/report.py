"""The results as one page of Markdown, one picture, and JSON."""

import json
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

import aims
import scoring
from scoring import Result, Share, Trade


@dataclass
class Run:
    """What was run: everything that a reader needs to make it again."""

    seed: int
    size: str
    models: dict[str, str]
    speakers: list[str] = field(default_factory=list)
    skipped: list[str] = field(default_factory=list)
    memory_mb: dict[str, float] = field(default_factory=dict)
    seconds: float = 0.0


_COLOURS = ("#1f5fa8", "#c4551f", "#2d8a4a", "#8a3fa0", "#a08a1f", "#555555")


def _cell(value: object) -> str:
    return f"{value:.3g}" if isinstance(value, float) else str(value)


def table(heads: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    lines = ["| " + " | ".join(heads) + " |", "|" + "---|" * len(heads)]
    lines += ["| " + " | ".join(_cell(value) for value in row) + " |" for row in rows]
    return "\n".join(lines) + "\n"


def by_engine(results: Sequence[Result]) -> dict[str, list[Result]]:
    grouped: dict[str, list[Result]] = defaultdict(list)
    for result in results:
        grouped[result.engine].append(result)
    return dict(grouped)


def _main_table(engines: dict[str, list[Result]], run: Run) -> str:
    views = {name: scoring.figures(results) for name, results in engines.items()}
    rows = [[what, *(view[what] for view in views.values())] for what in next(iter(views.values()))]
    memory = [run.memory_mb.get(name.partition(",")[0], "–") for name in views]
    return table(["% (of) unless said", *views], [*rows, ["largest memory, MB", *memory]])


def _parts(engines: dict[str, list[Result]], title: str, key: Callable[[Result], object]) -> str:
    """Exact calls, wrong ones accepted and right ones accepted, for each value of `key` and each engine."""
    values = sorted({str(key(r)) for results in engines.values() for r in results})
    rows = []
    for value in values:
        row: list[object] = [value]
        if not any(
            r.item.family in scoring.CALLS_OF
            for theirs in engines.values()
            for r in theirs
            if str(key(r)) == value
        ):
            continue
        for results in engines.values():
            view = scoring.figures([r for r in results if str(key(r)) == value])
            shares = (view["calls exact"], view["right accepted"], view["wrong accepted"])
            row.append(
                " · ".join(f"{100 * s.value:.0f}" if s.of else "–" for s in shares) + f" (n {shares[0].of})"
            )
        rows.append(row)
    return table([title, *engines], rows)


def _per_kind(engines: dict[str, list[Result]]) -> str:
    views = {name: scoring.by_kind(results) for name, results in engines.items()}
    kinds = dict.fromkeys(kind for view in views.values() for kind in view)
    return table(
        ["element", *views], [[k, *(view.get(k, Share(0, 0)) for view in views.values())] for k in kinds]
    )


def _misheard(results: Sequence[Result], keep: Callable[[Result], bool], count: int) -> str:
    lines = []
    for r in [r for r in results if keep(r)][:count]:
        due = r.item.expected.model_call if r.item.expected else ""
        heard = " ".join(
            f"{w.text}({w.confidence:.2f})" if w.confidence < 0.995 else w.text for w in r.hearing.heard.words
        )
        lines.append(f"- {r.speaker}, {r.where}: said “{r.item.said}”, heard “{heard}” (due: “{due}”)")
    return "\n".join(lines) + "\n"


def markdown(results: Sequence[Result], run: Run, curves: dict[str, tuple[list[Trade], list[Trade]]]) -> str:
    engines = by_engine(results)
    parts = [
        "# What the ears hear\n",
        f"Seed {run.seed}, size {run.size}, {run.seconds / 60:.0f} minutes. Models: "
        + "; ".join(f"{label} = `{Path(folder).name}`" for label, folder in run.models.items())
        + f".\n\nVoices, none of them heard in the training: {', '.join(run.speakers)}.\n",
        *(f"\nSkipped: {sentence}.\n" for sentence in run.skipped),
        "\nThe shares are in per cent, with the counts behind them. Times are of a shared machine: trust their ratios.\n",
        "\n## Against the aims\n\n" + table(["%, unless said", "aim", *engines], aims.rows(engines)),
        "\n## All\n\n" + _main_table(engines, run),
        "\n## By part: exact · right accepted · wrong accepted\n",
    ]
    views: dict[str, Callable[[Result], object]] = {
        "noise ratio": lambda r: "clean" if r.where.snr_db is None else f"{r.where.snr_db:02d} dB",
        "noise": lambda r: r.where.noise,
        "microphone": lambda r: r.where.microphone,
        "rate": lambda r: r.rate,
        "voice": lambda r: r.speaker,
        "family": lambda r: r.item.family,
        "standard": lambda r: r.item.expected.context.standard.name if r.item.expected else "none",
    }
    for title, key in views.items():
        parts.append("\n" + _parts(engines, title, key))
    parts.append("\n## Elements right, by kind\n\n" + _per_kind(engines))
    for name, (tuned, tested) in curves.items():
        parts += ["\n" + _confidence(name, engines[name]), _thresholds(name, tuned, tested)]
    for name in curves:
        theirs = engines[name]
        rows = [(a or "(nothing)", b or "(nothing)", n) for a, b, n in scoring.confusions(theirs, 25)]
        parts += [
            f"\n## {name}: commonest confusions\n\n" + table(["said", "heard", "times"], rows),
            f"\n## {name}: wrong calls accepted\n\n"
            + _misheard(theirs, lambda r: not r.item.right and r.outcome == scoring.ACCEPTED, 40),
            f"\n## {name}: right calls marked wrong\n\n"
            + _misheard(theirs, lambda r: r.item.right and r.outcome == scoring.MARKED, 30),
        ]
    return "".join(parts)


def _confidence(name: str, results: Sequence[Result]) -> str:
    rows = [
        (f"{low:g}–{min(high, 1):g}", f"{mean:.3f}", right)
        for low, high, mean, right in scoring.reliability(results)
    ]
    return f"## {name}: how far confidence can be trusted\n\n" + table(
        ["confidence of an element", "mean", "right, %"], rows
    )


def best(tuned: Sequence[Trade]) -> int:
    """The place of the cheapest; of those that cost the same the lowest thresholds."""
    return min(range(len(tuned)), key=lambda place: (round(tuned[place].cost, 6), tuned[place].doubt))


def _thresholds(name: str, tuned: Sequence[Trade], tested: Sequence[Trade]) -> str:
    chosen = best(tuned)
    rows = [
        [f"{t.doubt:g}", f"{t.name_doubt:g}", t.wrong_accepted, t.right_marked, t.right_asked, f"{t.cost:.1f}",
         f"{o.cost:.1f}", "chosen" if place == chosen else ""]
        for place, (t, o) in enumerate(zip(tuned, tested, strict=True))
        if place == chosen or t.name_doubt == 0.5
    ]  # fmt: skip
    return (
        f"\n## {name}: the threshold of doubt\n\nCost of 100 calls, {100 * scoring.SHARE_WRONG:.0f} of them wrong: a right"
        f" one asked again 1, a right one marked wrong {scoring.RIGHT_MARKED:g}, a wrong one accepted"
        f" {scoring.WRONG_ACCEPTED:g}. Chosen on one half of the calls; the last cost is of the other half.\n\n"
        + table(["doubt", "name doubt", "wrong accepted", "right marked wrong", "right asked again", "cost", "other half", ""], rows)
    )  # fmt: skip


def as_json(
    results: Sequence[Result], run: Run, curves: dict[str, tuple[list[Trade], list[Trade]]]
) -> dict[str, Any]:
    def plain(value: Any) -> Any:
        return {"hits": value.hits, "of": value.of} if isinstance(value, Share) else value

    return {
        "run": asdict(run),
        "engines": {
            name: {key: plain(value) for key, value in scoring.figures(theirs).items()}
            for name, theirs in by_engine(results).items()
        },
        "thresholds": {
            name: [{"doubt": t.doubt, "name_doubt": t.name_doubt, "cost": t.cost, "cost_other_half": o.cost}
                   for t, o in zip(*pair, strict=True)]
            for name, pair in curves.items()
        },
        "results": [
            {
                "engine": r.engine, "family": r.item.family, "said": r.item.said, "how": r.item.how, "right": r.item.right,
                "speaker": r.speaker, "rate": r.rate, "noise": r.where.noise, "snr_db": r.where.snr_db,
                "microphone": r.where.microphone, "heard": " ".join(r.heard_words), "by": r.hearing.heard.by,
                "least_confidence": min((w.confidence for w in r.hearing.heard.words), default=None),
                "outcome": r.outcome, "errors": r.errors, "after_s": r.hearing.after_s, "busy_s": r.hearing.busy_s,
            }
            for r in results
        ],
    }  # fmt: skip


# -- the picture -------------------------------------------------------------------------------------------

_WIDE, _HIGH, _LEFT, _TOP = 300, 200, 55, 40
_Line = tuple[str, list[tuple[float, float]]]


def _panel(
    x0: int, title: str, marks: list[tuple[float, str]], lines: list[_Line], top: float, unit: str
) -> str:
    """One diagram: each line's points are (place 0..1, value 0..top)."""
    parts = [
        f'<g transform="translate({x0},{_TOP})"><text x="0" y="-14" font-weight="bold">{escape(title)}</text>'
    ]
    for step in range(5):
        y = _HIGH - _HIGH * step / 4
        parts.append(f'<line x1="0" x2="{_WIDE}" y1="{y}" y2="{y}" stroke="#ddd"/>')
        parts.append(f'<text x="-6" y="{y + 4}" text-anchor="end">{top * step / 4:.3g}{unit}</text>')
    for at, text in marks:
        parts.append(
            f'<text x="{at * _WIDE:.0f}" y="{_HIGH + 16}" text-anchor="middle">{escape(text)}</text>'
        )
    for number, (name, points) in enumerate(lines):
        colour = _COLOURS[number % len(_COLOURS)]
        way = " ".join(f"{x * _WIDE:.1f},{_HIGH - _HIGH * min(y, top) / top:.1f}" for x, y in points)
        parts.append(f'<polyline points="{way}" fill="none" stroke="{colour}" stroke-width="2"/>')
        parts.append(f'<text x="0" y="{_HIGH + 36 + 14 * number}" fill="{colour}">{escape(name)}</text>')
    return "".join([*parts, "</g>"])


def svg(results: Sequence[Result], curves: dict[str, tuple[list[Trade], list[Trade]]]) -> str:
    """Exact calls over noise, rightness over confidence, cost over the threshold of doubt."""
    engines = by_engine(results)
    ratios = (None, 20, 15, 10, 5)
    noise: list[_Line] = []
    for name, theirs in engines.items():
        points = []
        for place, ratio in enumerate(ratios):
            exact = scoring.figures([r for r in theirs if r.where.snr_db == ratio])["calls exact"]
            if exact.of:
                points.append((place / 4, 100 * exact.value))
        noise.append((name, points))
    trust: list[_Line] = [("as it should be", [(0.0, 0.0), (1.0, 100.0)])]
    trust += [
        (n, [(mean, 100 * s.value) for _, _, mean, s in scoring.reliability(engines[n])]) for n in curves
    ]
    places = {value: place / (len(scoring.DOUBTS) - 1) for place, value in enumerate(scoring.DOUBTS)}
    cost: list[_Line] = []
    for name, (tuned, tested) in curves.items():
        for half, trades in (("", tuned), (", other half", tested)):
            cost.append((name + half, [(places[t.doubt], t.cost) for t in trades if t.name_doubt == 0.5]))
    highest = max([1.0, *(y for _, points in cost for _, y in points)])
    step = _WIDE + 110
    body = [
        _panel(_LEFT, "calls heard word for word", [(i / 4, "clean" if r is None else f"{r} dB") for i, r in enumerate(ratios)],
               noise, 100.0, "%"),
        _panel(_LEFT + step, "elements right, by confidence", [(0, "0"), (0.5, "0.5"), (1, "1")], trust, 100.0, "%"),
        _panel(_LEFT + 2 * step, "cost of 100 calls, by threshold", [(p, f"{v:g}") for v, p in places.items() if v in
               (0.0, 0.7, 0.9, 0.98, 0.999)], cost, highest * 1.05, ""),
    ]  # fmt: skip
    wide, high = _LEFT + 3 * step, _TOP + _HIGH + 60 + 14 * max(len(noise), len(cost), len(trust))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}" height="{high}" font-family="sans-serif" font-size="11">'
        f'<rect width="100%" height="100%" fill="white"/>{"".join(body)}</svg>\n'
    )


def write(folder: Path, results: Sequence[Result], run: Run) -> None:
    """results.md, results.svg and results.json in the folder."""
    folder.mkdir(parents=True, exist_ok=True)
    curves = {
        n: scoring.trades(theirs) for n, theirs in by_engine(results).items() if n.endswith("situation")
    }
    (folder / "results.md").write_text(markdown(results, run, curves), encoding="utf-8")
    (folder / "results.svg").write_text(svg(results, curves), encoding="utf-8")
    (folder / "results.json").write_text(
        json.dumps(as_json(results, run, curves), indent=1), encoding="utf-8"
    )
