"""Addresses of punch lists and callbacks, under /jobs/."""

from django.urls import path

from . import views

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
]
