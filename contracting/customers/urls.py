"""Addresses under /customers/."""

from django.urls import path

from . import views

app_name = "customers"
urlpatterns = [
    path("", views.customers, name="customers"),
    path("new/", views.customer_new, name="customer-new"),
    path("<int:pk>/", views.customer, name="customer"),
    path("<int:pk>/edit/", views.customer_edit, name="customer-edit"),
    path("<int:pk>/remove/", views.customer_remove, name="customer-remove"),
    path("<int:pk>/contacts/new/", views.contact_new, name="contact-new"),
    path("<int:pk>/sites/new/", views.site_new, name="site-new"),
    path("contacts/<int:pk>/edit/", views.contact_edit, name="contact-edit"),
    path("contacts/<int:pk>/remove/", views.contact_remove, name="contact-remove"),
    path("sites/<int:pk>/", views.site, name="site"),
    path("sites/<int:pk>/edit/", views.site_edit, name="site-edit"),
    path("sites/<int:pk>/remove/", views.site_remove, name="site-remove"),
]
