"""Offcuts of membrane worth keeping: what lies on the shelf, and which quotes have counted on it."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from estimates.pricelists.models import Material
from estimates.rooms.fields import LengthField


class Offcut(models.Model):
    """A piece of membrane on the shelf. *width* lies across the roll it came from, *length* along it.

    What was taken stays as a row, so that it is known where it went.
    """

    material = models.ForeignKey(Material, models.PROTECT, related_name="offcuts", verbose_name=_("membrane"))
    width = LengthField(_("width"))
    length = LengthField(_("length"))
    place = models.CharField(_("where it lies"), max_length=80, blank=True)
    # Which offcut of which job's cut plan it was, so that nobody shelves it twice.
    origin = models.CharField(max_length=60, blank=True, default="", editable=False)
    added_at = models.DateTimeField(auto_now_add=True)
    added_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, editable=False, related_name="+"
    )
    taken_at = models.DateTimeField(null=True, editable=False)
    taken_for = models.CharField(max_length=120, blank=True, default="", editable=False)

    class Meta:
        ordering = ["material__name", "-width_units", "-length_units", "pk"]
        verbose_name = _("offcut")
        verbose_name_plural = _("offcuts")
        constraints = [
            models.CheckConstraint(condition=Q(width_units__gt=0), name="offcut_width_above_zero"),
            models.CheckConstraint(condition=Q(length_units__gt=0), name="offcut_length_above_zero"),
            models.UniqueConstraint("origin", condition=~Q(origin=""), name="offcut_shelved_once"),
            models.CheckConstraint(
                condition=Q(taken_at__isnull=False) | Q(taken_for=""), name="offcut_taken_for_when_taken"
            ),
        ]
        indexes = [models.Index(fields=["taken_at", "material"], name="offcut_on_shelf")]

    def __str__(self) -> str:
        sizes = [one.typed for one in (self.width, self.length) if one is not None]
        return f"{self.material}: {' × '.join(sizes)}"

    def get_absolute_url(self) -> str:
        return reverse("stock:offcut-edit", args=[self.pk])


class OffcutPromise(models.Model):
    """An issued quote's cut plan takes this offcut; while the quote stands, no other one is offered it."""

    offcut = models.ForeignKey(Offcut, models.CASCADE, related_name="promises")
    quote = models.ForeignKey("quotes.Quote", models.CASCADE, related_name="offcut_promises")

    class Meta:
        constraints = [models.UniqueConstraint("offcut", "quote", name="offcut_promised_once_per_quote")]

    def __str__(self) -> str:
        return f"{self.offcut_id}"
