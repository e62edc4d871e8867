"""Drawings of measured rooms: one routine for screen, quote, crew sheet and measuring sheet.

Pure: geometry in, SVG text out. The translation is passed in as a callable.
"""

from .geometry import Outline, outline_for, outline_of, outline_walked
from .grid import grid_svg
from .marks import BATCHED, MEASURED, MEMBRANE, TILED, Layer
from .plan_sheet import extent
from .roll import roll_svg
from .room_plan import plan_svg
from .scales import paper_scale, scale_words
from .upright import elevation_svg, face_svg

__all__ = [
    "BATCHED",
    "MEASURED",
    "MEMBRANE",
    "TILED",
    "Layer",
    "Outline",
    "elevation_svg",
    "extent",
    "face_svg",
    "grid_svg",
    "outline_for",
    "outline_of",
    "outline_walked",
    "paper_scale",
    "plan_svg",
    "roll_svg",
    "scale_words",
]
