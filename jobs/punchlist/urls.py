"""Addresses of punch lists and callbacks, under /jobs/."""

from django.urls import path

from . import views
from .callbacks import views as callbacks

app_name = "punchlist"
urlpatterns = [
    path("punch-lists/", views.every_list, name="every-list"),
    path("<int:job_pk>/punch-list/", views.punch_list, name="list"),
    path("<int:job_pk>/punch-list/new/", views.item_new, name="item-new"),
    path("<int:job_pk>/punch-list/paper/", views.paper, name="paper"),
    path("<int:job_pk>/punch-list/signed/", views.signed, name="signed"),
    path("<int:job_pk>/punch-list/override/", views.override, name="override"),
    path("<int:job_pk>/punch-list/<int:number>/", views.item, name="item"),
    path("<int:job_pk>/punch-list/<int:number>/mend/", views.mend, name="mend"),
    path("<int:job_pk>/punch-list/<int:number>/accept/", views.accept, name="accept"),
    path("<int:job_pk>/punch-list/<int:number>/reject/", views.reject, name="reject"),
    path("<int:job_pk>/punch-list/<int:number>/withdraw/", views.withdraw, name="withdraw"),
    path("<int:job_pk>/punch-list/<int:number>/assign/", views.assign, name="assign"),
    path("callbacks/", callbacks.callbacks, name="callbacks"),
    path("<int:job_pk>/callbacks/", callbacks.of_job, name="callbacks-of-job"),
    path("<int:job_pk>/callbacks/new/", callbacks.report, name="callback-new"),
    path("<int:job_pk>/callbacks/<int:number>/", callbacks.callback, name="callback"),
    path("<int:job_pk>/callbacks/<int:number>/plan/", callbacks.plan, name="callback-plan"),
    path("<int:job_pk>/callbacks/<int:number>/found/", callbacks.found, name="callback-found"),
    path("<int:job_pk>/callbacks/<int:number>/decide/", callbacks.decide, name="callback-decide"),
    path("<int:job_pk>/callbacks/<int:number>/resolve/", callbacks.resolve, name="callback-resolve"),
    path("<int:job_pk>/callbacks/<int:number>/reopen/", callbacks.reopen, name="callback-reopen"),
    path("<int:job_pk>/callbacks/<int:number>/hours/", callbacks.hours, name="callback-hours"),
    path("<int:job_pk>/callbacks/<int:number>/delivery/", callbacks.delivery, name="callback-delivery"),
    path("<int:job_pk>/callbacks/<int:number>/cost/", callbacks.cost, name="callback-cost"),
]
