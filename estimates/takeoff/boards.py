"""Backer board with its fasteners, and levelling compound."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from decimal import Decimal

from .faces import Placed
from .model import Material
from .phrases import Phrase, gettext_noop, phrase
from .practice import Practice, put
from .result import BoardPiece, BoardPlan, Lie
from .sums import add_up
from .units import Measure, System
from .working import Figure, Origin, Working


def _sheet_source(material: Material) -> Phrase:
    return phrase(gettext_noop("data sheet of {material}"), material=material.name)


def _areas(work: Working, placed: Sequence[Placed], system: System) -> None:
    names = []
    for number, one in enumerate(placed, 1):
        assert one.face.area is not None
        work.carry(f"a{number}", one.label, one.face.area)
        names.append(f"a{number}")
    add_up(work, names, "A", phrase(gettext_noop("Area")), system.area)


def board_count(room: str, board: Material, placed: Sequence[Placed], system: System) -> Figure:
    """Return the boards one room takes by area, before waste and before whole boards."""
    small = system.length
    work = Working(
        f"{room}.{board.key}", phrase(gettext_noop("{material} in this room"), material=board.name)
    )
    _areas(work, placed, system)
    for symbol, name, label in (
        ("w", "width", phrase(gettext_noop("Board width"))),
        ("h", "height", phrase(gettext_noop("Board height"))),
    ):
        put(work, symbol, label, board.facts[name], small, Origin.DATA_SHEET, _sheet_source(board))
    per_area = "144" if system is System.INCH else "1000000"
    work.step("n", phrase(gettext_noop("Boards")), f"A * {per_area} / (w * h)", "each")
    return work.figure()


def fastener_count(
    room: str,
    board: Material,
    placed: Sequence[Placed],
    plan: BoardPlan | None,
    practice: Practice,
    system: System,
) -> Figure:
    """Return the fasteners one room takes, with what is lost.

    By their spacing along each piece of board where the data sheet gives it, else by area.
    """
    work = Working(f"{room}.fasteners", phrase(gettext_noop("Fasteners in this room")))
    if plan is not None and "fastener spacing" in board.facts:
        _by_spacing(work, board, placed, [one for one in plan.pieces if one.room == room], practice, system)
        practice.put(work, "l", "fastener_waste")
        work.step("n", phrase(gettext_noop("Fasteners")), "F * (1 + l)", "each")
        return work.figure()
    _areas(work, placed, system)
    put(
        work,
        "f",
        phrase(gettext_noop("Fasteners per area")),
        board.facts["fasteners"],
        f"each/{system.area}",
        Origin.DATA_SHEET,
        _sheet_source(board),
    )
    practice.put(work, "l", "fastener_waste")
    work.step("n", phrase(gettext_noop("Fasteners")), "A * f * (1 + l)", "each")
    return work.figure()


def _by_spacing(
    work: Working,
    board: Material,
    placed: Sequence[Placed],
    pieces: Sequence[BoardPiece],
    practice: Practice,
    system: System,
) -> None:
    """Rows of fasteners on every stud (on a floor: every spacing), one at each end of a row."""
    small = system.length
    lies = {one.face.key: one.face.lie for one in placed}
    put(
        work,
        "s",
        phrase(gettext_noop("Spacing of fasteners")),
        board.facts["fastener spacing"],
        small,
        Origin.DATA_SHEET,
        _sheet_source(board),
    )
    practice.put(work, "g", "framing", small)
    sizes = Counter((piece.width_mm, piece.height_mm, lies[piece.face] is Lie.LEVEL) for piece in pieces)
    names = []
    for number, ((width, height, is_level), times) in enumerate(sorted(sizes.items(), reverse=True), 1):
        label = phrase(gettext_noop("Pieces of size {number}"), number=number)
        work.given(f"m{number}", label, times, "each", Origin.GEOMETRY)
        for symbol, size, name in (
            ("w", width, phrase(gettext_noop("Width of size {number}"), number=number)),
            ("h", height, phrase(gettext_noop("Height of size {number}"), number=number)),
        ):
            work.given(f"{symbol}{number}", name, Measure(size, "mm").to(small), small, Origin.GEOMETRY)
        across = "s" if is_level else "g"
        formula = f"m{number} * (ceil(w{number} / {across}) + 1) * (ceil(h{number} / s) + 1)"
        work.step(
            f"f{number}", phrase(gettext_noop("Fasteners in size {number}"), number=number), formula, "each"
        )
        names.append(f"f{number}")
    add_up(work, names, "F", phrase(gettext_noop("Fasteners driven")), "each")


def leveller_bags(
    room: str, leveller: Material, rows: Sequence[tuple[Placed, Decimal]], system: System
) -> Figure:
    """Return the bags of levelling compound for (face, mean depth in mm) rows, not rounded."""
    small = system.length
    volume = "cu ft" if system is System.INCH else "L"
    work = Working(
        f"{room}.{leveller.key}", phrase(gettext_noop("{material} in this room"), material=leveller.name)
    )
    names = []
    for number, (placed, depth) in enumerate(rows, 1):
        assert placed.face.area is not None
        work.carry(f"a{number}", placed.label, placed.face.area)
        work.given(
            f"d{number}",
            phrase(gettext_noop("Mean depth on {face}"), face=placed.label),
            Measure(depth, "mm").to(small),
            small,
            Origin.MEASURED,
        )
        # A square foot by an inch is a twelfth of a cubic foot; a square metre by a millimetre is a litre.
        formula = f"a{number} * d{number} / 12" if system is System.INCH else f"a{number} * d{number}"
        work.step(f"v{number}", phrase(gettext_noop("Volume on {face}"), face=placed.label), formula, volume)
        names.append(f"v{number}")
    add_up(work, names, "V", phrase(gettext_noop("Volume")), volume)
    put(
        work,
        "y",
        phrase(gettext_noop("Yield of a bag")),
        leveller.facts["yield"],
        f"{volume}/each",
        Origin.DATA_SHEET,
        _sheet_source(leveller),
    )
    work.step("n", phrase(gettext_noop("Bags")), "V / y", "each")
    return work.figure()
