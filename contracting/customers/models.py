"""Who we work for and where: customers, their contacts, and the sites."""

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.db.models.functions import Length
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

models.CharField.register_lookup(Length)


class Customer(models.Model):
    """A person or a firm that asks for work."""

    name = models.CharField(_("name"), max_length=120)
    email = models.EmailField(_("e-mail"), blank=True)
    phone = models.CharField(_("phone"), max_length=40, blank=True)
    billing_address = models.TextField(_("billing address"), blank=True)
    notes = models.TextField(_("notes"), blank=True, help_text=_("For the office only."))
    language = models.CharField(
        _("language of papers"),
        max_length=5,
        choices=[("en", _("English")), ("es", _("Spanish"))],
        default="en",
        help_text=_("Quotes, change orders, invoices and warranty records; what you type stays as typed."),
    )
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["name", "pk"]
        verbose_name = _("customer")
        verbose_name_plural = _("customers")
        constraints = [
            models.CheckConstraint(condition=Q(name__length__gt=0), name="customer_has_name"),
            models.CheckConstraint(condition=Q(language__in=["en", "es"]), name="customer_language_known"),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("customers:customer", args=[self.pk])


class Contact(models.Model):
    """Somebody to ring about a customer's work."""

    customer = models.ForeignKey(Customer, models.CASCADE, related_name="contacts")
    name = models.CharField(_("name"), max_length=120)
    part = models.CharField(_("part in the job"), max_length=80, blank=True)
    phone = models.CharField(_("phone"), max_length=40, blank=True)
    email = models.EmailField(_("e-mail"), blank=True)

    class Meta:
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return self.name


class Site(models.Model):
    """Where the work is. It decides the units, the time zone and the sales tax of everything done there."""

    class Units(models.TextChoices):
        INCH = "inch", _("feet and inches")
        METRIC = "metric", _("millimetres and metres")

    class TaxBase(models.TextChoices):
        NONE = "none", _("no sales tax")
        MATERIALS = "materials", _("sales tax on materials")
        EVERYTHING = "everything", _("sales tax on everything")

    customer = models.ForeignKey(Customer, models.PROTECT, related_name="sites", verbose_name=_("customer"))
    name = models.CharField(_("name"), max_length=120, help_text=_("Such as: Main house, Unit 4."))
    street = models.CharField(_("street"), max_length=200)
    city = models.CharField(_("city"), max_length=80, blank=True)
    region = models.CharField(_("state or region"), max_length=80, blank=True)
    postal_code = models.CharField(_("postal code"), max_length=20, blank=True)
    units = models.CharField(_("units"), max_length=10, choices=Units, default=Units.INCH)
    time_zone = models.CharField(_("time zone"), max_length=60, default="America/Chicago")
    tax_base = models.CharField(_("sales tax"), max_length=12, choices=TaxBase, default=TaxBase.NONE)
    tax_basis_points = models.PositiveIntegerField(
        _("sales tax rate"), default=0, help_text=_("In hundredths of a per cent: 825 is 8.25 %.")
    )
    built_year = models.PositiveSmallIntegerField(
        _("year built"),
        null=True,
        blank=True,
        validators=[MinValueValidator(1600), MaxValueValidator(2100)],
        help_text=_("Decides the asbestos and lead cautions."),
    )
    is_occupied = models.BooleanField(_("people live there during the work"), default=False)
    travel_minutes = models.PositiveIntegerField(_("travel one way, minutes"), default=0)
    access_notes = models.TextField(_("access notes"), blank=True, help_text=_("The crew reads these."))

    class Meta:
        ordering = ["customer__name", "name", "pk"]
        verbose_name = _("site")
        verbose_name_plural = _("sites")
        constraints = [
            models.CheckConstraint(condition=Q(units__in=["inch", "metric"]), name="site_units_known"),
            models.CheckConstraint(
                condition=Q(tax_base__in=["none", "materials", "everything"]), name="site_tax_base_known"
            ),
            models.CheckConstraint(condition=Q(tax_basis_points__lte=5000), name="site_tax_at_most_half"),
            models.UniqueConstraint(
                "customer",
                "name",
                name="site_name_once_per_customer",
                violation_error_message=_("A site of this name already exists for this customer."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name}, {self.street}"

    def get_absolute_url(self) -> str:
        return reverse("customers:site", args=[self.pk])

    @property
    def tax_percent(self) -> Decimal:
        return Decimal(self.tax_basis_points) / 100
