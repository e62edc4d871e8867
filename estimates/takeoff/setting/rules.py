"""Limits of the tile standards, each with the clause it comes from.

The standards' own text was not at hand: the values come from trade pages that quote it, so the edition
adopted locally decides.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from ..phrases import Phrase, gettext_noop, phrase
from ..units import Measure


@dataclass(frozen=True)
class Limit:
    """A limit: *value* and what says so."""

    value: Measure
    source: Phrase

    @property
    def mm(self) -> Decimal:
        return self.value.to("mm")


def _limit(value: str, unit: str, source: str) -> Limit:
    return Limit(Measure(Decimal(value), unit), phrase(source))


LONG_EDGE = Measure(Decimal(15), "in")

_FLAT = gettext_noop("ANSI A108.02 4.2.2")
_FLAT_SHORT = gettext_noop("ANSI A108.02 (1/16 in in 12 in from memory)")
_OFFSET = gettext_noop("ANSI A108.02 4.3.8.2")
_JOINT = gettext_noop("ANSI A108.02 4.3.8")
_BOND_JOINT = gettext_noop("ANSI A108.02 4.3.8.1")
_LIPPAGE = gettext_noop("ANSI A108.02 4.3.7")
_STONE = gettext_noop("stone institute's figure")
_CONTACT = gettext_noop("ANSI A108.5 2.2.3")
_BED = gettext_noop("ANSI A108.5 2.2.2")
_BED_MOST = gettext_noop("trade education text on trowel notches")


@dataclass(frozen=True)
class Flatness:
    """How far a substrate may depart from flat, from its high points: over 10 ft, and over *span*."""

    over_10_ft: Limit
    span: Measure
    over_span: Limit


def flatness_limits(longest_edge: Measure) -> Flatness:
    """Return the flatness a tile needs; an edge of 15 in or more needs the stricter.

    Source: ANSI A108.02 4.2.2; the 1/16 in in 12 in of small tile is from memory.
    """
    if longest_edge.to("mm") >= LONG_EDGE.to("mm"):
        return Flatness(
            _limit("0.125", "in", _FLAT), Measure(Decimal(24), "in"), _limit("0.0625", "in", _FLAT)
        )
    return Flatness(
        _limit("0.25", "in", _FLAT), Measure(Decimal(12), "in"), _limit("0.0625", "in", _FLAT_SHORT)
    )


def is_flat(longest_edge: Measure, over_10_ft: Measure, over_span: Measure | None = None) -> bool:
    """Return whether the deviations found are within :func:`flatness_limits`, on both spans."""
    limits = flatness_limits(longest_edge)
    return over_10_ft.to("mm") <= limits.over_10_ft.mm and (
        over_span is None or over_span.to("mm") <= limits.over_span.mm
    )


def most_offset(longest_edge: Measure) -> Limit | None:
    """Return the largest offset of a running bond (a fraction), or None: any offset may be laid.

    It binds for an edge over 15 in, not at 15 in. More needs an approved mock-up. Source: ANSI A108.02
    4.3.8.2.
    """
    return _limit("0.33", "", _OFFSET) if longest_edge.to("mm") > LONG_EDGE.to("mm") else None


def least_joint(
    size_variation: Measure | None = None,
    *,
    running_bond_edge: Measure | None = None,
    rectified: bool = True,
    warpage: Measure | None = None,
) -> Limit:
    """Return the narrowest joint, in inches.

    Three times the facial variation of the tile's size and never under 1/16 in; in a running bond with any
    side over 15 in also 1/8 in (rectified) or 3/16 in (calibrated) plus the edge warpage of the longest
    edge. Source: ANSI A108.02 4.3.8 and 4.3.8.1.
    """
    variation = size_variation.to("in") if size_variation else Decimal(0)
    joint, source = max(3 * variation, Decimal("0.0625")), _JOINT
    if running_bond_edge is not None and running_bond_edge.to("mm") > LONG_EDGE.to("mm"):
        bond = Decimal("0.125" if rectified else "0.1875") + (warpage.to("in") if warpage else Decimal(0))
        if bond > joint:
            joint, source = bond, _BOND_JOINT
    return Limit(Measure(joint, "in"), phrase(source))


def allowed_lippage(joint: Measure, warpage: Measure, *, natural_stone: bool = False) -> Limit:
    """Return the lippage allowed between neighbours, in inches.

    1/32 in for a joint under 1/4 in, else 1/16 in, plus the tile's own warpage; stone: 1/32 in. Source:
    ANSI A108.02 4.3.7; stone institute.
    """
    if natural_stone:
        return _limit("0.03125", "in", _STONE)
    base = Decimal("0.03125" if joint.to("mm") < Measure(Decimal("0.25"), "in").to("mm") else "0.0625")
    return Limit(Measure(base + warpage.to("in"), "in"), phrase(_LIPPAGE))


def contact_required(*, wet: bool, exterior: bool = False) -> Limit:
    """Return the share of a tile's back that mortar must touch: 0.80 dry indoors, else 0.95 (ANSI A108.5)."""
    return _limit("0.95" if wet or exterior else "0.80", "", _CONTACT)


@dataclass(frozen=True)
class BedLimits:
    """Thinnest and thickest mortar bed under an embedded tile."""

    least: Limit
    most: Limit


def bed_limits(*, large_tile_mortar: bool = False) -> BedLimits:
    """Return the embedded bed: 3/32 in to 1/4 in, or to 1/2 in with large-and-heavy-tile mortar.

    Source: ANSI A108.5 2.2.2 for the least; trade education text for the most.
    """
    return BedLimits(
        _limit("0.09375", "in", _BED), _limit("0.5" if large_tile_mortar else "0.25", "in", _BED_MOST)
    )
