"""Addresses under /prices/."""

from django.urls import path

from . import views

app_name = "pricelists"
urlpatterns = [
    path("", views.materials, name="materials"),
    path("materials/new/", views.material_new, name="material-new"),
    path("materials/<int:pk>/", views.material, name="material"),
    path("materials/<int:pk>/edit/", views.material_edit, name="material-edit"),
    path("materials/<int:pk>/prices/", views.price_add, name="price-add"),
    path("prices/<int:pk>/remove/", views.price_remove, name="price-remove"),
    path("suppliers/", views.suppliers, name="suppliers"),
    path("suppliers/new/", views.supplier_new, name="supplier-new"),
    path("suppliers/<int:pk>/", views.supplier, name="supplier"),
    path("suppliers/<int:pk>/edit/", views.supplier_edit, name="supplier-edit"),
    path("import/", views.prices_import, name="import"),
    path("export/", views.prices_export, name="export"),
]
