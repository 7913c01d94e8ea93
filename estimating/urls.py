"""The addresses of this app's pages."""

from django.urls import URLPattern, URLResolver, path

from estimating.views import proposals, public

urlpatterns: list[URLPattern | URLResolver] = [
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
    path("p/<slug:token>/", public.proposal_public, name="proposal_public"),
    path("p/<slug:token>/proposal.pdf", public.proposal_public_pdf, name="proposal_public_pdf"),
    path("p/<slug:token>/total/", public.proposal_public_total, name="proposal_public_total"),
    path("p/<slug:token>/no/", public.proposal_public_decline, name="proposal_public_decline"),
]
