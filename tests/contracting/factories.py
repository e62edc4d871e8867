"""Smallest valid customers, sites and people."""

import factory
from factory.django import DjangoModelFactory

from contracting.customers.models import Customer, Site
from contracting.staff.models import User


class UserFactory(DjangoModelFactory[User]):
    class Meta:
        model = User

    username = factory.Sequence(lambda n: f"person{n}")
    role = "office"


class CustomerFactory(DjangoModelFactory[Customer]):
    class Meta:
        model = Customer

    name = factory.Sequence(lambda n: f"Customer {n:04}")


class SiteFactory(DjangoModelFactory[Site]):
    class Meta:
        model = Site

    customer = factory.SubFactory(CustomerFactory)
    name = factory.Sequence(lambda n: f"House {n}")
    street = "1 Example Street"
