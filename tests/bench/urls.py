from teamroom.urls import urlpatterns
