"""The people of the company, what they may do, what an hour costs, and the company itself."""

from typing import Any, ClassVar

from django.contrib.auth.models import AbstractUser, UserManager
from django.core.validators import RegexValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _


class Role(models.TextChoices):
    OWNER = "owner", _("owner")
    OFFICE = "office", _("office manager")
    INSTALLER = "installer", _("installer")


class StaffManager(UserManager["User"]):
    """Makes ``manage.py createsuperuser`` the way to the first owner of a new installation."""

    def create_superuser(
        self, username: str, email: str | None = None, password: str | None = None, **extra: Any
    ) -> "User":
        return super().create_superuser(username, email, password, **({"role": Role.OWNER} | extra))


class User(AbstractUser):
    """Somebody who signs in. *role* decides everything they may see; there are no other permissions."""

    role = models.CharField(_("role"), max_length=12, choices=Role, default=Role.INSTALLER)
    language = models.CharField(
        _("language"), max_length=5, choices=[("en", _("English")), ("es", _("Spanish"))], default="en"
    )

    objects: ClassVar[StaffManager] = StaffManager()

    class Meta(AbstractUser.Meta):
        constraints = [
            models.CheckConstraint(
                condition=Q(role__in=["owner", "office", "installer"]), name="user_role_known"
            )
        ]

    def __str__(self) -> str:
        return self.get_full_name() or self.username

    @property
    def sees_money(self) -> bool:
        """Whether cost, price, margin and pay may be shown: never to an installer."""
        return self.role in {Role.OWNER, Role.OFFICE}

    @property
    def is_owner(self) -> bool:
        return self.role == Role.OWNER


class LabourCost(models.Model):
    """What an hour of crew work costs from a date on: pay, and the burden on top of it.

    The cost on a day is the newest row that has started, so there are no gaps and no overlaps.
    """

    starts_on = models.DateField(_("from"), unique=True)
    pay_cents_per_hour = models.PositiveIntegerField(_("pay an hour"))
    burden_basis_points = models.PositiveIntegerField(
        _("burden"), help_text=_("Payroll taxes, insurance and benefits, in hundredths of a per cent of pay.")
    )

    class Meta:
        ordering = ["-starts_on"]
        constraints = [
            models.CheckConstraint(condition=Q(pay_cents_per_hour__gt=0), name="labour_pay_positive"),
            models.CheckConstraint(
                condition=Q(burden_basis_points__lte=30000), name="labour_burden_at_most_triple"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.starts_on}"

    @property
    def cost_cents_per_hour(self) -> int:
        """Pay and burden together, rounded half up to a whole cent."""
        return (self.pay_cents_per_hour * (10_000 + self.burden_basis_points) + 5_000) // 10_000


class PayRate(models.Model):
    """What an hour of one person costs from a date on; before the first, the company's cost of an hour holds.

    The rate on a day is the newest row that has started, so there are no gaps and no overlaps.
    """

    person = models.ForeignKey(User, models.CASCADE, related_name="pay_rates", verbose_name=_("person"))
    starts_on = models.DateField(_("from"))
    pay_cents_per_hour = models.PositiveIntegerField(_("pay an hour"))
    burden_basis_points = models.PositiveIntegerField(_("burden"))

    class Meta:
        ordering = ["person", "-starts_on"]
        verbose_name = _("pay rate")
        verbose_name_plural = _("pay rates")
        constraints = [
            models.UniqueConstraint(fields=["person", "starts_on"], name="pay_rate_once_a_day"),
            models.CheckConstraint(condition=Q(pay_cents_per_hour__gt=0), name="pay_rate_positive"),
            models.CheckConstraint(
                condition=Q(burden_basis_points__lte=30000), name="pay_rate_burden_at_most_triple"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person} {self.starts_on}"


class CompanyProfile(models.Model):
    """The one company of this installation: its name on paper, and the defaults of its estimates."""

    name = models.CharField(_("name"), max_length=120)
    tagline = models.CharField(_("line under the name"), max_length=120, blank=True)
    address = models.TextField(_("address"), blank=True)
    phone = models.CharField(_("phone"), max_length=40, blank=True)
    email = models.EmailField(_("e-mail"), blank=True)
    licence = models.CharField(_("licence"), max_length=80, blank=True)
    ink_colour = models.CharField(
        _("colour on paper"),
        max_length=7,
        default="#7d3112",
        validators=[RegexValidator(r"^#[0-9a-fA-F]{6}$", _("Write a colour as #rrggbb, such as #7d3112."))],
    )
    currency = models.CharField(_("currency"), max_length=3, default="USD")
    overhead_basis_points = models.PositiveIntegerField(_("overhead on cost"), default=1200)
    margin_basis_points = models.PositiveIntegerField(_("margin of the price"), default=3000)
    minimum_charge_cents = models.PositiveBigIntegerField(_("minimum job charge"), default=0)
    deposit_basis_points = models.PositiveIntegerField(_("deposit"), default=3000)
    validity_days = models.PositiveSmallIntegerField(_("a quote is valid for, days"), default=30)
    inclusions = models.TextField(_("included"), blank=True)
    exclusions = models.TextField(_("not included"), blank=True)
    terms = models.TextField(_("terms"), blank=True)
    keeps_photo_location = models.BooleanField(
        _("keep where a photo was taken"),
        default=False,
        help_text=_("Otherwise the location is dropped when a photo arrives, and cannot be had back."),
    )

    class Meta:
        constraints = [
            # The primary key is fixed by the service, so a second company cannot be stored.
            models.CheckConstraint(condition=Q(pk=1), name="one_company"),
            models.CheckConstraint(
                condition=Q(margin_basis_points__lt=10000), name="company_margin_below_all"
            ),
            models.CheckConstraint(
                condition=Q(deposit_basis_points__lte=10000), name="company_deposit_at_most_all"
            ),
        ]

    def __str__(self) -> str:
        return self.name
