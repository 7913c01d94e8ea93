"""Papers and photos of a site: added, and handed out after a check of who asks."""

from django.contrib import messages
from django.db import transaction
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.attachments import AttachmentForm
from firm.forms.fields import add_refusal
from firm.models import Attachment, JobSite, Role, User
from firm.selectors.sites import attachments_for
from firm.services.attachments import add_attachment, name_of
from firm.services.pictures import small_picture
from firm.views.refusing import page_with_forms

# An uploaded file never acts as a page of ours, whatever a browser takes it for.
HANDED_OUT = {
    "Content-Security-Policy": "default-src 'none'; sandbox",
    "X-Content-Type-Options": "nosniff",
    "Cache-Control": "private, no-store",
}


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def attachment_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Take papers or photos: all of them, or none where one is refused."""
    site = get_object_or_404(JobSite, pk=pk)
    first = {"kind": Attachment.Kind.PHOTO}
    is_sent = request.method == "POST"
    form = AttachmentForm(*((request.POST, request.FILES) if is_sent else ()), initial=first)
    if form.is_valid():
        try:
            count = _keep_all(signed_in(request), site, form)
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{count} file{'' if count == 1 else 's'} kept.")
            return redirect("site", pk=pk)
    return page_with_forms(request, "firm/attachment_form.html", {"form": form, "site": site})


@requires()
@require_safe
def attachment(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Hand out a paper as it came."""
    paper = _paper(request, pk)
    return FileResponse(
        paper.file.open("rb"),
        as_attachment=True,
        filename=paper.original_name,
        content_type=paper.content_type,
        headers=HANDED_OUT,
    )


@requires()
@require_safe
def attachment_small(request: HttpRequest, pk: int) -> HttpResponse:
    """Hand out a picture small enough for a list."""
    paper = _paper(request, pk)
    if not paper.content_type.startswith("image/"):
        raise Http404
    try:
        with paper.file.open("rb") as opened:
            content = small_picture(opened.read())
    except (OSError, ValueError, SyntaxError) as error:
        # It is kept as it came, broken or not; there is only nothing to show.
        raise Http404 from error
    kept_a_day = {**HANDED_OUT, "Cache-Control": "private, max-age=86400"}
    return HttpResponse(content, content_type="image/jpeg", headers=kept_a_day)


def _paper(request: HttpRequest, pk: int) -> Attachment:
    paper = get_object_or_404(attachments_for(signed_in(request)), pk=pk)
    if not paper.file.storage.exists(paper.file.name or ""):
        raise Http404
    return paper


def _keep_all(actor: User, site: JobSite, form: AttachmentForm) -> int:
    now = timezone.now()
    files = form.cleaned_data["papers"]
    with transaction.atomic():
        for one in files:
            add_attachment(
                actor=actor,
                site=site,
                kind=form.cleaned_data["kind"],
                name=name_of(one.name or ""),
                content=one.read(),
                note=form.cleaned_data["note"],
                at=now,
            )
    return len(files)
