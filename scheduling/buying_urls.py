"""Addresses of buying: the list, purchase orders, the yard and what is loaded."""

from django.urls import path

from scheduling.views import buying, orders, receipts, stock

urlpatterns = [
    path("buying/", buying.buying, name="buying"),
    path("buying/order/", buying.order_new, name="order_new"),
    path("orders/", orders.purchase_orders, name="purchase_orders"),
    path("orders/<int:pk>/", orders.purchase_order, name="purchase_order"),
    path("orders/<int:pk>/items/add/", orders.order_item_add, name="order_item_add"),
    path("orders/<int:pk>/send/", orders.order_send, name="order_send"),
    path("orders/<int:pk>/drop/", orders.order_drop, name="order_drop"),
    path("orders/<int:pk>/cancel/", orders.order_cancel, name="order_cancel"),
    path("orders/<int:pk>/mail/", orders.order_mail, name="order_mail"),
    path("orders/<int:pk>/promises/", orders.order_promises, name="order_promises"),
    path("orders/<int:pk>/receive/", orders.order_receive, name="order_receive"),
    path("orders/<int:pk>/order.pdf", orders.order_pdf, name="order_pdf"),
    path("receipts/<int:pk>/take-back/", receipts.receipt_take_back, name="receipt_take_back"),
    path("yard/", stock.yard, name="yard"),
    path("days/<int:crew>/<day:date>/load/", stock.crew_load, name="crew_load"),
    path("days/<int:crew>/<day:date>/load.pdf", stock.crew_load_pdf, name="crew_load_pdf"),
    path("jobs/<int:pk>/leftovers/", stock.job_leftovers, name="job_leftovers"),
]
