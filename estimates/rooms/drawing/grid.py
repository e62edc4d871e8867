"""Squared paper to sketch a room on, for the measuring sheet."""

from __future__ import annotations

from estimates.takeoff.units import System

from .paper import LineType, Paper

# Four squares to the inch, or 5 mm: what a carpenter's pad has (common practice, no source).
_SQUARE_MM = {System.INCH: 6.35, System.METRIC: 5.0}


def grid_svg(*, system: System, width_mm: float, height_mm: float, name: str = "grid") -> str:
    """Return squared paper, whole squares of 1/4 in or 5 mm within *width_mm* by *height_mm*, true size."""
    square = _SQUARE_MM[system]
    columns, rows = int(width_mm / square), int(height_mm / square)
    paper = Paper()
    for column in range(columns + 1):
        x = column * square
        line = LineType.EDGE if column in (0, columns) else LineType.GRID
        paper.path([(x, 0), (x, rows * square)], line)
    for row in range(rows + 1):
        y = row * square
        line = LineType.EDGE if row in (0, rows) else LineType.GRID
        paper.path([(0, y), (columns * square, y)], line)
    return paper.svg(title="", description="", name=name, true_size=True, margin_mm=0.2)
