"""The words a measurer chooses from, with their labels; the values are those of ``takeoff.model``."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class SurfaceKind(models.TextChoices):
    FLOOR = "floor", _("Floor")
    WALL = "wall", _("Wall")
    SHOWER_FLOOR = "shower floor", _("Shower floor")
    BENCH = "bench", _("Bench")
    CURB = "curb", _("Curb")
    NICHE = "niche", _("Niche")
    COUNTER = "counter", _("Counter")
    BACKSPLASH = "backsplash", _("Backsplash")
    KNEE_WALL = "knee wall", _("Knee wall")
    COLUMN = "column", _("Column")
    RETURN = "return", _("Return of an opening")


class Substrate(models.TextChoices):
    PLYWOOD = "plywood", _("plywood")
    OSB = "OSB", _("OSB")
    GYPSUM_BOARD = "gypsum board", _("gypsum board")
    CEMENT_BOARD = "cement board", _("cement board")
    CONCRETE = "concrete", _("concrete")
    MORTAR_BED = "mortar bed", _("mortar bed")
    POURED_GYPSUM = "poured gypsum", _("poured gypsum")
    SHEET_VINYL = "sheet vinyl", _("sheet vinyl")
    PLASTIC_LAMINATE = "plastic laminate", _("plastic laminate")
    EXISTING_TILE = "existing tile", _("existing tile")


class Condition(models.TextChoices):
    SMOOTH = "smooth", _("smooth")
    ROUGH = "rough", _("rough")
    UNEVEN = "uneven", _("uneven, to be levelled")
    SEALED = "sealed", _("sealed, waxed or painted")


class Exposure(models.TextChoices):
    DRY = "dry", _("dry")
    WET = "wet", _("wet")


class Covering(models.TextChoices):
    NONE = "nothing", _("nothing")
    TILE = "tile", _("tile")
    RESILIENT = "resilient flooring", _("resilient flooring")
    CARPET = "carpet", _("carpet")
    WOOD = "wood flooring", _("wood flooring")
    BOARD = "wall board", _("wall board")


class BondMethod(models.TextChoices):
    ACRYLIC = "acrylic bonding agent", _("acrylic bonding agent")
    ORGANIC = "organic adhesive", _("organic adhesive")
    MORTAR = "latex-modified mortar", _("latex-modified mortar")


class FixtureKind(models.TextChoices):
    FLANGE = "flange", _("Closet flange")
    PIPE = "pipe", _("Pipe")
    DRAIN = "drain", _("Drain")
    TUB = "tub", _("Tub")
    CABINET = "cabinet", _("Cabinet")
    MIXER = "mixer", _("Mixer")
    SPOUT = "spout", _("Spout")
    SINK = "sink", _("Sink")


class OpeningKind(models.TextChoices):
    DOOR = "door", _("Door")
    PASSAGE = "passage", _("Passage")
    WINDOW = "window", _("Window")


class Counted(models.TextChoices):
    BEAD = "sealant bead", _("sealant beads")
    STRIPS = "strips", _("strips")
    INSIDE = "inside corner piece", _("inside corner pieces")
    OUTSIDE = "outside corner piece", _("outside corner pieces")
