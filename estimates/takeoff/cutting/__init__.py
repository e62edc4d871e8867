"""Cutting pieces from rolls: the cheapest set of rolls, the cuts in order, and what is left.

``plan_cuts`` plans, ``verify`` proves a plan by itself. Method and sources are told in ``plan.py``.
"""

from .model import Cut, CutPlan, CutRoll, CutSettings, Offcut, Piece, Placed, RollKind
from .plan import plan_cuts
from .verify import PlanFault, verify

__all__ = [
    "Cut",
    "CutPlan",
    "CutRoll",
    "CutSettings",
    "Offcut",
    "Piece",
    "Placed",
    "PlanFault",
    "RollKind",
    "plan_cuts",
    "verify",
]
