"""Addresses of the price book, production rates, fence systems and what is uncertain."""

from django.urls import path

from estimating.views import price_book, rates, soil, suppliers, systems, uncertain

urlpatterns = [
    path("price-book/", price_book.price_book, name="price_book"),
    path("price-book/new/", price_book.price_item_new, name="price_item_new"),
    path("price-book/<int:pk>/", price_book.price_item_edit, name="price_item_edit"),
    path("price-book/<int:pk>/checked/", price_book.price_item_checked, name="price_item_checked"),
    path("price-book/rates/", rates.rates, name="rates"),
    path("price-book/rates/<slug:kind>/<str:key>/", rates.rate_edit, name="rate_edit"),
    path("price-book/soil/", soil.soil, name="soil"),
    path("price-book/suppliers/", suppliers.suppliers, name="suppliers"),
    path("price-book/suppliers/new/", suppliers.supplier_new, name="supplier_new"),
    path("price-book/suppliers/<int:pk>/", suppliers.supplier_edit, name="supplier_edit"),
    path("price-book/systems/", systems.systems, name="systems"),
    path("price-book/systems/new/", systems.system_new, name="system_new"),
    path("price-book/systems/<int:pk>/", systems.system, name="system"),
    path("price-book/systems/<int:pk>/edit/", systems.system_edit, name="system_edit"),
    path("price-book/uncertain/", uncertain.uncertain_rows, name="uncertain_rows"),
    path("price-book/uncertain/new/", uncertain.uncertain_new, name="uncertain_new"),
    path("price-book/uncertain/<int:pk>/", uncertain.uncertain_edit, name="uncertain_edit"),
]
