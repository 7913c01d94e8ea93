"""The cautions of a crew's day; the sheet adds that local code rules over them."""

from collections.abc import Sequence

from firm.measure.said import ENGLISH, Said, joined
from scheduling.engine.breaches import Rule
from scheduling.models import CrewDay
from scheduling.selectors.sheet_content import SheetContent

TICKET = Said(
    "Dig only with a valid ticket and every answer in. Marks are approximate; private "
    "lines are not marked: ask the owner. A line is hit: stop, get clear and call its "
    "owner. Gas: leave, no spark or flame, call the emergency number."
)
HAND_DIG = Said("Hand dig where the list says so and inside the tolerance beside every mark.")
AUGER = Said(
    "Auger: no loose clothing, hands away, one operator; stop the engine before "
    "clearing. Mind overhead lines and slopes; have a spotter."
)
OPEN_HOLES = Said("Open holes: cover or cone each one, never leave them near children or a pool.")
CONCRETE = Said(
    "Dust of dry mix harms lungs and wet cement burns skin and eyes: mask, gloves, eye "
    "protection; wash at once. Lift bags with two people or a barrow."
)
CUTTING = Said(
    "Cutting: eye and hearing protection; mask for cement, treated wood and metal dust. "
    "Lift panels and gates with two people."
)
STRETCHING = Said("Stretching fabric: stand clear of the line; wire can snap back.")
POOL = Said(
    "Pool: keep the temporary barrier until gate and latch work. Height, gaps, gate and "
    "latch go by the local rule."
)


def cautions(
    *, digs: bool, pours: bool, hangs: bool, content: SheetContent | None, by_hand_only: bool
) -> Sequence[str]:
    """Return the cautions that apply to a day."""
    is_fabric = content is not None and content.is_fabric
    has_pool_gate = content is not None and content.has_pool_gate
    asked = (
        (TICKET, digs),
        (HAND_DIG, digs),
        (AUGER, digs and not by_hand_only),
        (OPEN_HOLES, digs or pours),
        (CONCRETE, pours),
        (CUTTING, hangs),
        (STRETCHING, hangs and is_fabric),
        (POOL, has_pool_gate),
    )
    return [caution for caution, applies in asked if applies]


# What a block placed against a rule breaks, in few words: the calendar's own sentences are the
# office's, in English.
BROKEN = {
    Rule.READINESS: Said("papers that are not settled"),
    Rule.MATERIAL: Said("material that is not here"),
    Rule.INSPECTION: Said("an inspection that is open"),
    Rule.CUSTOMER_DAY: Said("a day the customer does not want"),
    Rule.RAIN: Said("the rain"),
    Rule.FROST: Said("the frost"),
    Rule.CURE: Said("concrete that is not hard yet"),
    Rule.ORDER: Said("the order of the work"),
    Rule.AFTER: Said("another job that comes first"),
    Rule.SKILL: Said("a skill the crew does not have"),
    Rule.PEOPLE: Said("too few people"),
    Rule.CREW_OFF: Said("a day off of the crew"),
    Rule.CREW_HOURS: Said("more hours than the crew's day has"),
    Rule.CREW_TWICE: Said("two places at once"),
    Rule.DRIVE: Said("too little time for the drive"),
    Rule.MACHINE_TWICE: Said("a machine in two places"),
}


def override_caution(row: CrewDay, language: str) -> str:
    """Return what a crew is told of a block that stands there against a rule."""
    rules = dict.fromkeys(each["rule"] for each in row.override_breaches)
    named = joined((BROKEN[Rule(rule)] for rule in rules if rule in BROKEN), ", ")
    return Said(
        "{work} is placed against a rule by {name}: {note}. What it breaks: {sentences}",
        work=Said(str(row.phase.get_kind_display())),
        name=row.override_name,
        note=row.override_note.rstrip("."),
        sentences=" ".join(row.override_sentences) if language == ENGLISH else named,
    )
