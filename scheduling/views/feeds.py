"""Calendar feeds: the page that makes and revokes them, and what a calendar reads."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from firm.access import open_to_all, requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from scheduling.feeds import crew_days_ics
from scheduling.forms.feeds import FeedForm
from scheduling.selectors.feeds import feed_at, feeds_within_reach
from scheduling.services import feeds as services


@open_to_all
@require_safe
def calendar_feed(request: HttpRequest, token: str) -> HttpResponse:
    """Hand a calendar the crew days; whoever has the address is let in."""
    feed = feed_at(token)
    if feed is None:
        raise Http404("There is no such feed.")
    now = timezone.now()
    services.note_feed_reading(feed=feed, now=now)
    content = crew_days_ics(crew=feed.crew, host=request.get_host(), now=now)
    return HttpResponse(
        content,
        content_type="text/calendar; charset=utf-8",
        headers={
            "Cache-Control": "private, no-cache",
            "Referrer-Policy": "no-referrer",
            "X-Robots-Tag": "noindex, nofollow",
        },
    )


@requires()
@require_http_methods(["GET", "HEAD", "POST"])
def calendar_feeds(request: HttpRequest) -> HttpResponse:
    """List the feeds and make one; its address is on this one answer and never again."""
    person = signed_in(request)
    form = FeedForm(request.POST if request.method == "POST" else None, person=person)
    made, address = None, ""
    if form.is_valid():
        try:
            made, token = services.make_feed(
                actor=person, crew=form.cleaned_data["crew"], now=timezone.now()
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            address = request.build_absolute_uri(reverse("calendar_feed", args=[token]))
    context = {
        "form": FeedForm(person=person) if made else form,
        "feeds": feeds_within_reach(person),
        "made": made,
        "address": address,
    }
    answer = render(request, "scheduling/feeds.html", context, status=422 if form.errors else 200)
    answer.headers["Cache-Control"] = "no-store, private"
    return answer


@requires()
@require_POST
def calendar_feed_revoke(request: HttpRequest, pk: int) -> HttpResponse:
    """End a feed."""
    person = signed_in(request)
    feed = get_object_or_404(feeds_within_reach(person), pk=pk)
    services.revoke_feed(actor=person, feed=feed, now=timezone.now())
    messages.success(request, _("The feed is revoked: its address shows nothing from now on."))
    return redirect("calendar_feeds")
