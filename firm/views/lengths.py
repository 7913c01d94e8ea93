"""How a length that was typed is read, said beside its field before anything is saved."""

from django.http import HttpRequest, JsonResponse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from firm.access import requires
from firm.measure.lengths import LengthError, parse_length
from firm.measure.written import long_and_short, on_reading_grid
from firm.selectors.languages import spoken
from firm.selectors.profile import firm_units

LONGEST_TEXT = 40
MINUS = ("-", "\u2212")


@requires()
@require_GET
def length_reading(request: HttpRequest) -> JsonResponse:
    """Answer with the length in words, or with why the text is none."""
    text = request.GET.get("text", "").strip()
    if len(text) > LONGEST_TEXT:
        return JsonResponse(
            {"words": "", "problem": _("Type {most} characters at most.").format(most=LONGEST_TEXT)}
        )
    units = firm_units()
    bare = "ft" if request.GET.get("bare") == "ft" and units != "metric" else ""
    is_below = text.startswith(MINUS)
    try:
        inches = parse_length(text[1:] if is_below else text, units=units, bare=bare)
    except LengthError as error:
        return JsonResponse({"words": "", "problem": spoken(error.args[0])})
    words = long_and_short(on_reading_grid(inches, units), units)
    said = _("minus {length}").format(length=words) if is_below else words
    return JsonResponse({"words": said, "problem": ""})
