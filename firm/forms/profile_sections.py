"""In which sections the firm's profile is asked for."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, slots=True)
class Section:
    """A part of the form under its own heading."""

    title: str
    intro: str
    names: tuple[str, ...]
    wide: tuple[str, ...] = ()


SECTIONS = (
    Section(
        title="The firm",
        intro="As it stands on proposals and invoices.",
        names=(
            "name",
            "street",
            "city",
            "state",
            "postcode",
            "phone",
            "email",
            "licence",
            "logo",
            "remove_logo",
            "units",
        ),
        wide=("name", "street", "logo"),
    ),
    Section(
        title="Labour",
        intro="Wage and burden are seen by the owner alone. The crew rate is what an hour of one "
        "person is priced at.",
        names=("wage_rate", "burden_pct", "crew_rate", "crew_size", "hours_per_day"),
    ),
    Section(
        title="Overhead and margin",
        intro="What the price must carry beside the job's own cost.",
        names=(
            "overhead_method",
            "overhead_rate",
            "target_margin_pct",
            "commission_pct",
            "minimum_charge",
            "travel_per_trip",
            "ticket_fee",
            "rock_hole_price",
        ),
    ),
    Section(
        title="Material without building it",
        intro="A sale of goods: no hours and no crew, so its margin must carry the office as well. "
        "Most states tax such a sale even where they ask no tax for a finished fence.",
        names=("goods_margin_pct", "goods_delivery_charge", "goods_sales_tax_pct"),
    ),
    Section(
        title="Tax",
        intro="States differ on whether a fence is taxed as material, as a whole or not at all. "
        "Ask your accountant.",
        names=("sales_tax_base", "sales_tax_pct", "purchase_tax_pct"),
        wide=("sales_tax_base",),
    ),
    Section(
        title="Holes and concrete",
        intro="The firm's own floor; frost, local rules and the fence's own rule may ask for more.",
        names=("hole_floor_in", "concrete_waste_pct", "concrete_way"),
    ),
    Section(
        title="Cutting",
        intro="What is cut from stock lengths is planned for the whole job.",
        names=("saw_kerf_in", "keep_offcut_in"),
    ),
    Section(
        title="Small changes",
        intro="How much an estimate may propose to change where that saves a post or a bay. 0 for "
        "never. Nothing is changed without a click.",
        names=("gate_move_limit_in", "end_move_limit_in"),
    ),
    Section(
        title="Holidays",
        intro="Public holidays are days on which no crew works, unless the office says so beside "
        "the crews.",
        names=("holiday_country", "holiday_state"),
    ),
    Section(
        title="The drive",
        intro="How long the drive between two sites takes: as the crow flies, made longer as "
        "roads are, at the speed of a loaded truck.",
        names=("yard", "road_factor", "road_speed_mph"),
    ),
    Section(
        title="Numbers",
        intro="Go on counting where the firm's paper left off.",
        names=("next_estimate_number", "next_invoice_number", "next_order_number"),
    ),
    Section(
        title="Proposals",
        intro="Deposit, validity and the words that stand on every proposal.",
        names=(
            "deposit_pct",
            "deposit_cap_pct",
            "deposit_cap_amount",
            "valid_days",
            "cancellation_business_days",
            "terms",
            "licence_text",
            "cancellation_text",
            "lien_text",
            "warranty_text",
        ),
        wide=("terms", "licence_text", "cancellation_text", "lien_text", "warranty_text"),
    ),
)
