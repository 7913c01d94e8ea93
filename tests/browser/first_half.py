"""The steps from an empty database to a signed proposal and its job, for the walk of the main job.

The price is worked by hand from the starter's rows and the firm's own figures typed here. One line
of vinyl privacy, 6 ft, 40-0 between the centres of two end posts, with a 48 in walk gate whose
clear opening begins at 16-2 1/2.

Layout: post 3 at 194.5 - 2.5 = 192, post 4 at 194.5 + 48 + 2.5 = 245. 192 in = 2 bays of 96 (whole
panels), 480 - 245 = 235 in = 3 bays of 78.33 (cut). 7 posts, 2 of them at the gate.
Holes: 12 in; 33 in deep, at the gate 39; concrete stops 3 in down: 30 and 36 in of it.
  5 x 1.963495 + 2 x 2.356194 = 14.529866 ft3, + 10 % = 15.982853; / 0.60 = 26.64 -> 27 bags
  spoil 5 x 2.159845 + 2 x 2.552544 = 15.904313 ft3 x 1.25 / 27 = 0.736311 yd3
Material: posts 5 x 38.00 = 190.00, at the gate 2 x 43.00 = 86.00; caps 7 x 3.20 = 22.40;
  gate stiffeners 2 x 46.00 = 92.00;
  rails 10 + 3 % -> 11 x 21.50 = 236.50; bottom stiffeners 5 x 11.80 = 59.00;
  boards 2 x 8 (90 / 11.3) + 3 x 7 (72.3 / 11.3) = 37 + 3 % -> 39 x 8.75 = 341.25;
  channels 10 x 5.60 = 56.00; screws 40 + 5 % -> 1 box 9.50; clips 40 x 0.55 = 22.00;
  leaf 46 in -> 4 ft x 58.00 = 232.00; hinges 34.00; latch 26.00; concrete 27 x 6.80 = 183.60
  sum 1,590.25
Hours: layout 1 + 0.40 = 1.40; dig 7 x 0.9 = 6.30; set 2 x 0.35 + 3 x 0.25 + 2 x 0.60 + 27 x 0.07
  = 4.54; hang 5 x 0.50 + 3 x 0.15 = 2.95; gate 1.25; clean-up 2 x 1.5 + 1 + 0.736311 = 4.736311
  at $60.00: 84.00 + 378.00 + 272.40 + 177.00 + 75.00 + 284.18 = 1,270.58; sum 21.176311 h
Auger 6.30 h / 24 -> half a day at 95.00 = 47.50; permit 75.00; travel 2 x 85.00 = 170.00
Direct 1,590.25 + 1,270.58 + 47.50 + 75.00 + 170.00 = 3,153.33
Overhead 21.176311 / 24 x 900.00 = 794.11; break-even 3,947.44; / 0.88 = 4,485.73
Tax 6.5 % = 291.57; price 4,777.30. Deposit 40 %, capped at 10 %: 477.73, never a cent over.
Option 180.00 + 11.70 tax = 191.70; signed total 4,969.00.
Job: before tax 4,485.73 + 180.00 = 4,665.73; the option's price is fixed and costs nothing more, so
the margin is 4,665.73 - 3,947.44 = 718.29, or 15.4 % of 4,665.73.
"""

import datetime as dt
import re
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, expect

from estimating.models import Acceptance
from tests.browser.walk import Person

OWNER = ("holly", "gravel-lantern-orchard-9")
OFFICE = ("june", "kettle-meadow-anvil-31")
CREW = ("tobias", "marsh-copper-gable-77")


def set_up_the_firm(owner: Person) -> None:
    owner.opens("/")
    expect(owner.page).to_have_url(re.compile("/set-up/"))
    owner.types(
        owner__first_name="Holly",
        owner__last_name="Brandt",
        owner__email="holly@brandt.example",
        owner__username=OWNER[0],
        owner__password=OWNER[1],
        owner__password_again=OWNER[1],
        name="Brandt & Daughter Fencing",
        street="18 Mill Lane",
        city="Dunmere",
        state="NY",
        postcode="12345",
        phone="555-0140",
        email="office@brandt.example",
        licence="F-2210",
        crew_rate="60.00",
        crew_size="3",
        hours_per_day="8",
        overhead_rate="900.00",
        target_margin_pct="12",
        minimum_charge="450.00",
        travel_per_trip="85.00",
        sales_tax_pct="6.5",
        next_estimate_number="412",
        deposit_pct="40",
        deposit_cap_pct="10",
        licence_text="Licensed by the state of New York, F-2210.",
    )
    owner.chooses(overhead_method="per_crew_day", sales_tax_base="all")
    owner.presses("Set the firm up")
    owner.reads("Brandt & Daughter Fencing is set up.")


def add_person(owner: Person, page: Page, name: str, role: str, log_in: tuple[str, str]) -> None:
    """The owner adds someone; they choose their password at the link, and log in with it."""
    owner.opens("/settings/people/new/")
    owner.types(
        first_name=name,
        last_name="Marsh",
        username=log_in[0],
        email=f"{log_in[0]}@brandt.example",
    )
    owner.chooses(role=role)
    owner.presses("Add and send the password link")
    owner.opens("/mail/")
    owner.page.get_by_role("link", name=re.compile("password", re.IGNORECASE)).first.click()
    link = re.search(r"https?://\S+/password/\S+", owner.page.locator("body").inner_text())
    assert link, "the mail with the password link is shown to the owner"
    person = Person(page, owner.rules)
    person.opens(link.group())
    person.types(new_password1=log_in[1], new_password2=log_in[1])
    person.presses("Keep this password")
    person.logs_in(*log_in)


def import_customers(office: Person, tmp_path: Path) -> None:
    """Two good rows and one without a name; nothing is written before the preview is agreed to."""
    rows = "Name,Phone,E-mail,Street,Town\n"
    rows += "Wren Halloway,555-0117,wren@example.com,4 Larch Court,Dunmere\n"
    rows += "Idris Vane,555-0119,idris@example.com,9 Ash Row,Dunmere\n,555-0120,,,\n"
    (tmp_path / "customers.csv").write_text(rows)
    office.opens("/customers/import/")
    office.field("file").set_input_files(tmp_path / "customers.csv")
    office.presses("Look at the file")
    office.reads("Nothing has been saved yet")
    office.presses("Take in 2 customers")
    office.reads("Wren Halloway")


def take_the_enquiry(office: Person) -> None:
    office.opens("/enquiries/new/")
    office.picks("customer", "Wren Halloway")
    office.types(wanted="Privacy along the back, a gate for the mower", source="Neighbour")
    office.types(wanted_by="2027-04-01", appointment_at="2027-03-02T10:00")
    office.presses("Write it down")
    office.reads("Wren Halloway")


def describe_the_site(office: Person, tmp_path: Path) -> None:
    office.opens("/jurisdictions/new/")
    office.types(name="Town of Dunmere", frost_depth_in="30", permit_fee="75.00")
    office.types(height_limit_rear_in="6' 6\"", height_limit_front_in="4'")
    office.presses("Add the jurisdiction")
    office.reads("Town of Dunmere is added")
    office.opens("/enquiries/")
    office.page.get_by_role("link", name=re.compile("Wren Halloway")).first.click()
    office.follows("Make a site of it")
    office.types(street="4 Larch Court", city="Dunmere", state="NY", postcode="12345")
    office.picks("jurisdiction", "Town of Dunmere")
    office.presses("Add the site")
    office.follows("Locate ticket")
    office.chooses(state="asked")
    office.types(number="NY-40117", asked_on=dt.date.today().isoformat())  # noqa: DTZ011
    office.presses("Save")
    office.reads("NY-40117")
    office.follows("4 Larch Court, Dunmere")
    office.reads("NY-40117")
    Image.new("RGB", (40, 30), "grey").save(tmp_path / "pin.jpg")
    office.follows("Add papers or photos")
    office.field("papers").set_input_files(tmp_path / "pin.jpg")
    office.presses("Keep them")
    office.reads("pin.jpg")


def measure_and_price(office: Person) -> None:
    office.follows("Measure")
    office.types(**{"lines-0-name": "Back line", "lines-0-legs-0-length_in": "40'"})
    office.chooses(**{"lines-0-system": "vinyl_privacy_6ft"})
    office.page.get_by_text("Gates", exact=True).click()
    office.page.get_by_role("button", name="Add a gate").click()
    office.types(
        **{
            "lines-0-gates-0-station_in": "16-2 1/2",
            "lines-0-gates-0-clear_opening_in": "48",
        }
    )
    office.presses("Save the measured site")
    office.presses("Price version 1")
    office.reads("Estimate 412")
    office.reads("$4,777.30")
    office.reads("$4,485.73")
    office.reads("27 bags")
    office.reads("91 in")
    office.page.get_by_text("Add a line", exact=True).click()
    office.types(**{"line-description": "Solar caps on all posts", "line-price": "180.00"})
    office.field("line-is_optional").check()
    office.presses("Add the line")
    office.reads("Solar caps on all posts")
    office.reads("$4,777.30")


def send_the_proposal(office: Person) -> str:
    """Draft and send; return the customer's link as the kept mail shows it."""
    office.presses("Make a proposal")
    office.reads("$477.73")
    office.presses("Save the draft")
    office.presses("Send the proposal")
    office.page.wait_for_url(re.compile("/proposals/"))
    office.page.reload()
    office.reads("wren@example.com")
    office.opens("/mail/")
    office.page.get_by_role("link", name=re.compile("Proposal 412")).first.click()
    link = re.search(r"https?://\S+/p/\S+/", office.page.locator("body").inner_text())
    assert link, "the mail with the customer's link is kept and shown"
    return link.group()


def accept(customer: Person, link: str) -> bytes:
    """The customer reads, forgets the consent, is told so, and signs; returns the PDF they read."""
    customer.opens(link)
    customer.reads("$4,777.30")
    customer.reads("Vinyl privacy")
    pdf = customer.page.request.get(f"{link}proposal.pdf").body()
    customer.page.get_by_label(re.compile("Solar caps")).check()
    customer.reads("$4,969.00")
    customer.types(signed_name="Wren Halloway")
    customer.presses("Accept this proposal")
    expect(customer.field("signed_name")).to_have_value("Wren Halloway")
    assert not Acceptance.objects.exists()
    customer.field("consent").check()
    customer.presses("Accept this proposal")
    customer.reads("Thank you, Wren Halloway")
    customer.reads("$4,969.00")
    customer.opens(link)
    customer.reads("Thank you, Wren Halloway")
    return pdf


def opens_the_job(person: Person) -> None:
    person.opens("/jobs/")
    person.reads("Not yet")
    person.page.get_by_role("link", name=re.compile("412, ")).click()
    person.looks()


def look_at_the_job(owner: Person, office: Person) -> None:
    """The acceptance became a job; nothing may be dug yet, and only the owner sees its margin."""
    opens_the_job(office)
    office.reads("May we dig? Not yet")
    office.reads("The customer may still cancel.")
    office.reads("21.18")
    office.reads("$4,969.00")
    office.does_not_read("718.29")
    opens_the_job(owner)
    owner.reads("$718.29, 15.4 %")
