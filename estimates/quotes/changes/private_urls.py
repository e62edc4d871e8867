"""Addresses under /q/c/: what a customer opens without an account."""

from ..signing.urls import customer_addresses
from .signing import CHANGE

app_name = "change-signing"
urlpatterns = customer_addresses(CHANGE)
