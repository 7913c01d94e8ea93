"""The addresses of this app's pages."""

from django.urls import URLPattern, URLResolver, include, path

from estimating.views import estimates, measurements, proposals, public, repairs

urlpatterns: list[URLPattern | URLResolver] = [
    path("sites/<int:pk>/measure/", measurements.site_measure, name="site_measure"),
    path(
        "sites/<int:pk>/measure/preview/",
        measurements.site_measure_preview,
        name="site_measure_preview",
    ),
    path("sites/<int:pk>/document.json", measurements.site_document, name="site_document"),
    path(
        "sites/<int:pk>/document/new/",
        measurements.site_document_upload,
        name="site_document_upload",
    ),
    path("sites/document-schema.json", measurements.site_schema, name="site_schema"),
    path("sites/<int:pk>/price/", estimates.estimate_new, name="estimate_new"),
    path("estimates/", estimates.estimate_list, name="estimates"),
    path("estimates/repair/", repairs.repair_new, name="repair_new"),
    path("estimates/<int:pk>/", estimates.estimate, name="estimate"),
    path("estimates/<int:pk>/price/", estimates.estimate_price, name="estimate_price"),
    path("estimates/<int:pk>/revise/", estimates.estimate_revise, name="estimate_revise"),
    path("estimates/<int:pk>/lines/", estimates.estimate_line_add, name="estimate_line_add"),
    path("estimates/<int:pk>/lines/<int:line_pk>/", estimates.estimate_line, name="estimate_line"),
    path("estimates/<int:pk>/by-hand/", estimates.estimate_override, name="estimate_override"),
    path(
        "estimates/<int:pk>/by-hand/<int:override_pk>/drop/",
        estimates.estimate_override_drop,
        name="estimate_override_drop",
    ),
    path("proposals/", proposals.proposal_list, name="proposals"),
    path("estimates/<int:estimate_pk>/proposal/", proposals.proposal_new, name="proposal_new"),
    path("proposals/<int:pk>/", proposals.proposal, name="proposal"),
    path("proposals/<int:pk>/progress/", proposals.proposal_progress, name="proposal_progress"),
    path("proposals/<int:pk>/proposal.pdf", proposals.proposal_pdf, name="proposal_pdf"),
    path("proposals/<int:pk>/send/", proposals.proposal_send, name="proposal_send"),
    path("proposals/<int:pk>/anew/", proposals.proposal_refresh, name="proposal_refresh"),
    path("proposals/<int:pk>/mail/", proposals.proposal_mail_again, name="proposal_mail_again"),
    path("proposals/<int:pk>/withdraw/", proposals.proposal_withdraw, name="proposal_withdraw"),
    path("proposals/<int:pk>/decline/", proposals.proposal_decline, name="proposal_decline"),
    path("proposals/<int:pk>/call/", proposals.proposal_call, name="proposal_call"),
    path(
        "proposals/<int:pk>/paper/",
        proposals.proposal_paper_acceptance,
        name="proposal_paper_acceptance",
    ),
    path("proposals/<int:pk>/scan/", proposals.proposal_scan, name="proposal_scan"),
    path("", include("estimating.price_book_urls")),
    path("", include("estimating.money_urls")),
    path("p/<slug:token>/", public.proposal_public, name="proposal_public"),
    path("p/<slug:token>/proposal.pdf", public.proposal_public_pdf, name="proposal_public_pdf"),
    path("p/<slug:token>/total/", public.proposal_public_total, name="proposal_public_total"),
    path("p/<slug:token>/no/", public.proposal_public_decline, name="proposal_public_decline"),
]
