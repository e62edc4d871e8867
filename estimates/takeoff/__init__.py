"""The takeoff: measured rooms in, quantities, cut plan, hours and sequence out.

Pure computation. Nothing in this package imports Django, reads a clock, a database or the network, or
draws an unseeded random number; ``tests/test_layers.py`` fails when that changes.

``from estimates import takeoff; takeoff.run(room_set, materials, practice, start=...)`` is the whole of it.
"""

from .run import run

__all__ = ["run"]
