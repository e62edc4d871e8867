"""Signing in and out, people, pay and the company."""

from django.urls import path

from . import views

app_name = "staff"
urlpatterns = [
    path("sign-in/", views.sign_in, name="sign-in"),
    path("sign-out/", views.sign_out, name="sign-out"),
    path("preferences/", views.preferences, name="preferences"),
    path("preferences/password/", views.password, name="password"),
    path("company/", views.company, name="company"),
    path("company/edit/", views.company_edit, name="company-edit"),
    path("company/paper/", views.letterhead, name="letterhead"),
    path("company/people/new/", views.person_new, name="person-new"),
    path("company/people/<int:pk>/", views.person_edit, name="person-edit"),
    path("company/people/<int:pk>/pay/", views.person_pay, name="person-pay"),
    path("company/people/pay/<int:pk>/remove/", views.person_pay_remove, name="person-pay-remove"),
    path("company/hours/new/", views.labour_cost_new, name="labour-cost-new"),
    path("company/hours/<int:pk>/remove/", views.labour_cost_remove, name="labour-cost-remove"),
]
