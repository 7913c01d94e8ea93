"""The page of the firm's soil classes."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from estimating.forms.soil import SoilBearingForm
from estimating.selectors.soil import soil_bearing
from firm.access import requires, signed_in
from firm.models import Role
from firm.services.profile import save_profile


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def soil(request: HttpRequest) -> HttpResponse:
    """Show and take which class of the building code stands for each of the firm's soils."""
    form = SoilBearingForm(request.POST or None, initial=soil_bearing())
    if form.is_valid():
        save_profile(
            actor=signed_in(request),
            changes={"soil_bearing": form.chosen()},
            at=timezone.now(),
        )
        messages.success(request, "The soil classes are saved. Priced estimates keep their own.")
        return redirect("soil")
    status = 422 if request.method == "POST" else 200
    return render(request, "estimating/soil.html", {"form": form}, status=status)
