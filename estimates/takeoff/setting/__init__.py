"""Setting tile: mortar, grout, movement joints, and the limits the standards put on tile work."""

from .grout import grout, grout_volume
from .mortar import Trowel, bed_warnings, mortar_by_coverage, mortar_by_notch, pressed_bed, trowel_for
from .movement import FieldJoints, Sun, field_joints, movement_joint_length, spacing_limit
from .notch import Notch, NotchShape, bed_thickness
from .rules import (
    BedLimits,
    Flatness,
    Limit,
    allowed_lippage,
    bed_limits,
    contact_required,
    flatness_limits,
    is_flat,
    least_joint,
    most_offset,
)

__all__ = [
    "BedLimits",
    "FieldJoints",
    "Flatness",
    "Limit",
    "Notch",
    "NotchShape",
    "Sun",
    "Trowel",
    "allowed_lippage",
    "bed_limits",
    "bed_thickness",
    "bed_warnings",
    "contact_required",
    "field_joints",
    "flatness_limits",
    "grout",
    "grout_volume",
    "is_flat",
    "least_joint",
    "mortar_by_coverage",
    "mortar_by_notch",
    "most_offset",
    "movement_joint_length",
    "pressed_bed",
    "spacing_limit",
    "trowel_for",
]
