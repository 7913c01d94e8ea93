"""The addresses of invoices, payments and a contract's money."""

from django.urls import path

from estimating.views import invoices, payments

urlpatterns = [
    path("invoices/", invoices.invoice_list, name="invoices"),
    path("invoices/<int:pk>/", invoices.invoice, name="invoice"),
    path("invoices/<int:pk>/issue/", invoices.invoice_issue, name="invoice_issue"),
    path("invoices/<int:pk>/anew/", invoices.invoice_refresh, name="invoice_refresh"),
    path("invoices/<int:pk>/drop/", invoices.invoice_drop, name="invoice_drop"),
    path("invoices/<int:pk>/print/", invoices.invoice_print, name="invoice_print"),
    path("invoices/<int:pk>/progress/", invoices.invoice_progress, name="invoice_progress"),
    path("invoices/<int:pk>/invoice.pdf", invoices.invoice_pdf_file, name="invoice_pdf"),
    path("invoices/<int:pk>/mail/", invoices.invoice_mail, name="invoice_mail"),
    path("invoices/<int:pk>/void/", invoices.invoice_void, name="invoice_void"),
    path("proposals/<int:pk>/money/", payments.contract_money, name="contract_money"),
    path("proposals/<int:pk>/money/balance/", payments.invoice_balance, name="invoice_balance"),
    path(
        "proposals/<int:pk>/money/steps/<int:step_pk>/",
        payments.invoice_step,
        name="invoice_step",
    ),
    path("proposals/<int:pk>/money/payments/", payments.payment_add, name="payment_add"),
    path("payments/<int:pk>/void/", payments.payment_void, name="payment_void"),
]
