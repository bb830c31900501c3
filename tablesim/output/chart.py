"""Charts of findings, by matplotlib's object interface; never the screen.

Lines differ by colour and by dash, so that no one depends on colour.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from tablesim.model.scenario import Scenario
from tablesim.model.shot import Take
from tablesim.model.whole import by_suffix, write_whole
from tablesim.study.deflection import deflection_of
from tablesim.study.sweep import NAMED_AXES, Axis, Sweep

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

# Okabe and Ito's palette, safe for colour-blind readers (2008), darkest first.
COLOURS = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#000000", "#E69F00", "#56B4E9")
DASHES: tuple[Any, ...] = ("-", (0, (6, 2)), (0, (2, 2)), (0, (6, 2, 1, 2)), (0, (1, 1)), (0, (8, 3)), (0, (4, 1)))
MAX_LINES = 12


CHARTS = {".png": "png", ".svg": "svg"}  # kinds of files, by their endings


def _figure(title: str) -> tuple[Figure, Axes]:
    from matplotlib.figure import Figure

    figure = Figure(figsize=(9.0, 5.4), dpi=120, layout="constrained")
    axes = figure.add_subplot()
    axes.set_title(title, loc="left", fontsize=13)
    axes.grid(True, alpha=0.3)
    return figure, axes


def _write(figure: Figure, path: str) -> None:
    out = io.BytesIO()
    figure.savefig(out, format=by_suffix(path, CHARTS))
    write_whole(path, out.getvalue())


def deflection_chart(scenario: Scenario, takes: Sequence[Take | str] | None, path: str) -> None:
    """Distance off the cue's line [mm, left +] against that along it [m], a line a take; squirt alone thin.

    ``takes``: named or stated, all for None; ``path`` ends in .png or .svg.  TablesimError otherwise.

    >>> ts.deflection_chart(ts.open_scenario("two-cues"), ["wood, hard", "low-squirt, hard"], "off-the-line.svg")
    """
    length = math.hypot(scenario.table.surface.length_m, scenario.table.surface.width_m)
    fine = tuple(length * k / 100 for k in range(1, 101))
    chosen = scenario.takes if takes is None else [one for take in takes for one in scenario.takes_for(take)]
    found = [deflection_of(scenario, take, fine) for take in chosen]
    title = scenario.title
    figure, axes = _figure(f"{title}: off the cue's line")
    for k, d in enumerate(found[:MAX_LINES]):
        x = [0.0, *(p.distance_m for p in d.points)]
        colour = COLOURS[k % len(COLOURS)]
        axes.plot(x, [0.0, *(p.net_mm for p in d.points)], color=colour, linestyle=DASHES[k % len(DASHES)], lw=2.2,
                  label=f"{d.take} ({d.cue})")  # fmt: skip
        axes.plot(x, [0.0, *(p.squirt_mm for p in d.points)], color=colour, lw=0.7, alpha=0.6)
    axes.axhline(0.0, color="#444444", lw=1.0)
    axes.set_xlabel("along the cue's line, m")
    axes.set_ylabel("off it, mm (left +); thin: squirt alone")
    axes.legend(fontsize=9)
    _write(figure, path)


def _value(cell_value: float | None) -> float:
    return math.nan if cell_value is None else cell_value


def sweep_chart(found: Sweep, title: str, path: str) -> None:
    """Correction [mm at the pocket, left +] along the first numeric axis, a line for each value of the other.

    A map where both are numbers.  ``path`` ends in .png or .svg; TablesimError otherwise.

    >>> found = ts.sweep(ts.open_scenario("two-cues"), "wood, soft", [ts.Axis("pace", (1.3, 1.9))])
    >>> ts.sweep_chart(found, "Softer or firmer", "by-pace.svg")
    """
    numeric = [axis for axis in found.axes if axis.name not in NAMED_AXES]
    if len(numeric) == 2 and min(len(axis.values) for axis in numeric) > MAX_LINES:
        _map(found, title, path)
        return
    along = numeric[0] if numeric else found.axes[0]
    other = next((axis for axis in found.axes if axis is not along), None)
    figure, axes = _figure(f"{title}: {found.take}")
    index = found.axes.index(along)
    for k, value in enumerate(other.values[:MAX_LINES] if other else [None]):
        cells = [c for c in found.cells if other is None or c.values[1 - index] == value]
        axes.plot(
            [c.values[index] for c in cells], [_value(c.correction.correction_mm) for c in cells],
            color=COLOURS[k % len(COLOURS)], linestyle=DASHES[k % len(DASHES)], lw=2.2, marker="o", ms=3,
            label=None if other is None else f"{other.name} {value:g}" if isinstance(value, float) else str(value),
        )  # fmt: skip
    axes.axhline(0.0, color="#444444", lw=1.0)
    axes.set_xlabel(along.label)
    axes.set_ylabel("correction at the pocket, mm (left +)")
    if other is not None:
        axes.legend(title=other.label, fontsize=9)
    _write(figure, path)


def _map(found: Sweep, title: str, path: str) -> None:
    from matplotlib.figure import Figure

    figure = Figure(figsize=(12.0, 5.2), dpi=120, layout="constrained")
    figure.suptitle(
        f"{title}: {found.take} (blank: no aim works; black line: no correction)", x=0.01, ha="left", fontsize=13
    )
    y, x = found.axes
    for k, (what, field, colours) in enumerate(
        (("correction, mm (left +)", "correction_mm", "RdBu"), ("window, deg", "window_deg", "viridis"))
    ):
        grid = _grid(found, y, x, field)
        axes = figure.add_subplot(1, 2, k + 1)
        finite = [abs(v) for row in grid for v in row if math.isfinite(v)]
        limit = max(finite, default=1.0)
        low = -limit if colours == "RdBu" else 0.0
        mesh = axes.pcolormesh(x.values, y.values, grid, cmap=colours, vmin=low, vmax=limit, shading="nearest")
        if colours == "RdBu":
            axes.contour(x.values, y.values, grid, levels=[0.0], colors="black", linewidths=1.2)
        figure.colorbar(mesh, ax=axes, label=what)
        axes.set_xlabel(x.label)
        axes.set_ylabel(y.label)
    _write(figure, path)


def _grid(found: Sweep, y: Axis, x: Axis, field: str) -> list[list[float]]:
    width = len(x.values)
    values = [_value(getattr(c.correction, field)) for c in found.cells]
    return [values[k * width : (k + 1) * width] for k in range(len(y.values))]
