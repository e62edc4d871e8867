"""Addresses under /jobs/<pk>/purchases/, in the namespace of jobs."""

from django.urls import path

from . import views

urlpatterns = [
    path("<int:pk>/purchases/", views.purchases, name="purchases"),
    path("<int:pk>/purchases/receive/", views.receive, name="purchases-receive"),
    path("<int:pk>/purchases/stock/", views.stock, name="purchases-stock"),
    path("<int:pk>/purchases/order/", views.order, name="purchases-order"),
    path("<int:pk>/purchases/order-rest/", views.order_rest, name="purchases-order-rest"),
    path("<int:pk>/purchases/order-strike/", views.order_strike, name="purchases-order-strike"),
    path("<int:pk>/purchases/invoice/", views.invoice, name="purchases-invoice"),
]
