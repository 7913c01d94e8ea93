"""The job of tests/job_cast.py as the margin's engine takes it: 13 posts, 5,000.00 before tax.

Labour 1,270.58 at 60.00 an hour, material 1,500.00 (27 bags at 5.35 among it), other 382.75:
direct cost 3,153.33. Overhead 900.00 a crew-day of 3 x 8 h, commission 5 %.
"""

from decimal import Decimal

from scheduling.engine.margin import Margin, PhaseMargin
from scheduling.engine.margin_facts import (
    BagFacts,
    FirmRule,
    JobFacts,
    KindFacts,
    PhaseFacts,
    Units,
)
from tests.job_cast import PHASES

PHASE_NAMES = {
    "removal": "Taking out the old fence",
    "layout": "Layout and string",
    "dig": "Digging",
    "set": "Setting posts, concrete",
    "hang": "Hanging",
    "gates": "Gates",
    "clean_up": "Set-up, spoil, clean-up",
    "extra": "Other work",
}
# Minutes and money worked, and whether the phase is finished, when 8 of 13 posts are set.
IN_THE_MIDDLE = {"layout": (90, "90", True), "dig": (570, "570", False), "set": (240, "240", False)}


def job_of_13_posts(*, in_the_middle: bool = False) -> JobFacts:
    """Return the job before anything happened, or with 8 of its 13 posts set."""
    done = IN_THE_MIDDLE if in_the_middle else {}
    units = Units(name="posts set", planned=13, done=8 if in_the_middle else 0)
    return JobFacts(
        price=Decimal("5000.00"),
        overhead=Decimal("794.11"),
        commission=Decimal("250.00"),
        phases=tuple(
            PhaseFacts(
                key=key,
                name=PHASE_NAMES[key],
                sold_hours=Decimal(hours),
                sold_cost=Decimal(cost),
                worked_min=worked[0],
                worked_cost=Decimal(worked[1]),
                is_finished=worked[2],
                units=units if key in {"dig", "set"} else None,
            )
            for key, hours, cost in PHASES
            for worked in (done.get(key, (0, "0", False)),)
        ),
        kinds=(
            KindFacts(
                key="material",
                name="Material",
                sold=Decimal(1500),
                receipts=(Decimal(1000),) if in_the_middle else (),
            ),
            KindFacts(key="other", name="Other", sold=Decimal("382.75")),
        ),
        bags=BagFacts(
            planned=27,
            used=Decimal(24 if in_the_middle else 0),
            done=8 if in_the_middle else 0,
            left=5 if in_the_middle else 13,
            cost_of_one=Decimal("5.35"),
        ),
        rule=FirmRule(
            crew_rate=Decimal(60),
            crew_size=3,
            hours_per_day=Decimal(8),
            overhead_method="per_crew_day",
            overhead_rate=Decimal(900),
            commission_pct=Decimal(5),
        ),
    )


def by_key(margin: Margin) -> dict[str, PhaseMargin]:
    """Return the phases by their key."""
    return {row.key: row for row in margin.phases}
