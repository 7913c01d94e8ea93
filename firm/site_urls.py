"""Addresses of customers, enquiries, job sites, their papers and clearances, jurisdictions."""

from django.urls import path

from firm.views import (
    attachments,
    clearances,
    customer_import,
    customers,
    enquiries,
    jurisdictions,
    lengths,
    sites,
)

urlpatterns = [
    path("length/", lengths.length_reading, name="length_reading"),
    path("customers/", customers.customers, name="customers"),
    path("customers/new/", customers.customer_new, name="customer_new"),
    path("customers/import/", customer_import.customers_import, name="customers_import"),
    path(
        "customers/import/sample.csv",
        customer_import.customers_import_sample,
        name="customers_import_sample",
    ),
    path("customers/<int:pk>/", customers.customer, name="customer"),
    path("customers/<int:pk>/change/", customers.customer_edit, name="customer_edit"),
    path("enquiries/", enquiries.enquiries, name="enquiries"),
    path("enquiries/new/", enquiries.enquiry_new, name="enquiry_new"),
    path("enquiries/<int:pk>/", enquiries.enquiry, name="enquiry"),
    path("enquiries/<int:pk>/change/", enquiries.enquiry_edit, name="enquiry_edit"),
    path("sites/", sites.sites, name="sites"),
    path("sites/new/", sites.site_new, name="site_new"),
    path("sites/<int:pk>/", sites.site, name="site"),
    path("sites/<int:pk>/change/", sites.site_edit, name="site_edit"),
    path("sites/<int:pk>/measure-sheet.pdf", sites.site_measure_sheet, name="site_measure_sheet"),
    path("sites/<int:pk>/papers/new/", attachments.attachment_add, name="attachment_add"),
    path("sites/<int:pk>/clearances/new/", clearances.clearance_add, name="clearance_add"),
    path("papers/<int:pk>/", attachments.attachment, name="attachment"),
    path("papers/<int:pk>/small.jpg", attachments.attachment_small, name="attachment_small"),
    path("clearances/<int:pk>/", clearances.clearance_edit, name="clearance_edit"),
    path(
        "clearances/<int:pk>/answers/new/",
        clearances.utility_answer_add,
        name="utility_answer_add",
    ),
    path("answers/<int:pk>/", clearances.utility_answer_edit, name="utility_answer_edit"),
    path("jurisdictions/", jurisdictions.jurisdictions, name="jurisdictions"),
    path("jurisdictions/new/", jurisdictions.jurisdiction_new, name="jurisdiction_new"),
    path("jurisdictions/<int:pk>/", jurisdictions.jurisdiction_edit, name="jurisdiction_edit"),
]
