from django.urls import URLPattern

app_name = "pricelists"
urlpatterns: list[URLPattern] = []
