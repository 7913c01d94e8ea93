"""The steps from a job to its margin, for the walk of the main job.

The job is the one of `first_half`: 7 posts, 27 bags, sold hours layout 1.40, digging 6.30, setting
4.54, hanging 2.95, gate 1.25, clean-up 4.736311 at $60.00; price before tax 4,665.73.

Crew: Tobias, whose hour costs the firm 52.00, and Ada, 44.00. Two people: a crew's hour is two of
labour. Concrete, standard mix: panels wait 94.25 h and gates 216.5 h where no air is known and
40 F is counted; at 55 F, where an hour counts as .5468 at 73 F, 30.476 / .5468 = 55.75 h and 128 h.

Dig day, as reported:
  layout   Tobias  7:00 to  8:00           1.0 h x 52.00 =  52.00
  digging  Tobias  8:00 to 12:00, Ada the same: 4.0 x 52.00 + 4.0 x 44.00 = 384.00
  setting  Tobias 12:30 to 15:30, Ada to 15:00: 3.0 x 52.00 + 2.5 x 44.00 = 266.00
Hanging on the Thursday:
  hanging  both  7:30 to 10:00             2.5 x 52.00 + 2.5 x 44.00 = 240.00
Gate and clean-up on the Monday after:
  gate     Tobias 10:00 to 12:00, 30 min of break  1.5 x 52.00 = 78.00
  clean-up Ada 10:00 to 13:30, 30 min of break; Tobias 12:00 to 13:30: 3.0 x 44.00 + 1.5 x 52.00
           = 210.00
Labour 52.00 + 384.00 + 266.00 + 240.00 + 78.00 + 210.00 = 1,230.00; 25.5 h.

Post 5 was laid out at 323 5/16 and stands 5 in further, at 328 5/16 or 27-4 5/16, for a root: the
bays beside it, 3 and 4, were 73 5/16 clear and become 78 5/16 and 68 5/16. Boards for a bay come to
its clear width less 1 in over 11.3 in: 7 and 7 before, 7 and 6 now, so 36 + 3 % is 38 and no longer
39 of them: 8.75 less. (3,947.44 - 8.75) / 0.88 = 4,475.78, which is 9.95 under 4,485.73; 6.5 % tax
of it 0.65. The office lets such a small sum go and drops the draft.

Rock at one post: the firm's price for a hole is 95.00; tax 6.5 % of it 6.175, a cent up: 6.18.
Contract 4,969.00 + 101.18 = 5,070.18; before tax 4,665.73 + 95.00 = 4,760.73.
Balance: 5,070.18 less the deposit received, 477.73, = 4,592.45.

Margin after the dig day. Hanging, gate and clean-up as sold, 536.18; one bag more than planned at
6.80.
  direct 52.00 + 384.00 + 266.00 + 536.18 + (1,590.25 + 6.80) + 47.50 + 75.00 + 170.00 = 3,127.73
  overhead (14.5 + 8.936311) / 24 x 900.00 = 878.86; margin 4,760.73 - 3,127.73 - 878.86 = 754.14
What moved it most, each with the overhead of its hours at 900.00 / 24 = 37.50: digging, 384.00
instead of 378.00 in 8 h instead of 6.3, 300.00 instead of 236.25: 6.00 + 63.75 = 69.75 more.
Layout takes 32.00 + 15.00 less.

Margin at the end. Material by its receipt, 1,642.80; the auger 47.50, the permit 75.00 and travel
170.00 as estimated, for nobody wrote a receipt down.
  direct 1,230.00 + 1,642.80 + 47.50 + 75.00 + 170.00 = 3,165.30
  overhead 25.5 / 24 x 900.00 = 956.25
  margin 4,760.73 - 3,165.30 - 956.25 = 639.18; / 4,760.73 = 13.4 %
  a crew-day is 3 people x 8 h: 25.5 / 24 = 1.0625; 639.18 / 1.0625 = 601.58
The estimate with the signed change: 4,760.73 - 3,947.44 = 813.29; 17.1 %.
What moved it most: hanging, 240.00 instead of 177.00 in 5 h instead of 2.95, 187.50 of overhead
instead of 110.63 (110.625): 63.00 + 76.87 = 139.87 more.
"""

import re
from pathlib import Path

from django.utils import timezone
from PIL import Image
from playwright.sync_api import expect

from tests.browser.conftest import Clock
from tests.browser.first_half import CREW, OFFICE, OWNER
from tests.browser.story_days import ONE_DAY, Days
from tests.browser.walk import Person


def _begins_a_day(person: Person, log_in: tuple[str, str]) -> None:
    """Log in anew: the log-in of a story's earlier day may have run out."""
    person.page.context.clear_cookies()
    person.logs_in(*log_in)


def settle_the_papers(office: Person, days: Days) -> None:
    """Everything is cleared, each on its own page; the ticket by its utilities' answers."""
    friday = days.friday.isoformat()
    for name in ("Deposit received", "Survey pins", "Permit"):
        _opens_clearance(office, name)
        office.chooses(state="clear")
        office.types(number="R-118", clear_on=friday)
        office.presses("Save")
    for name in ("Right of way and easements", "Association approval"):
        _opens_clearance(office, name)
        office.chooses(state="not_needed")
        office.presses("Save")
    _opens_clearance(office, "Locate ticket")
    for utility, answer in (("Gas", "marked"), ("Water", "nothing_there")):
        office.chooses(answer=answer)
        office.types(utility=utility, answered_on=friday)
        office.presses("Add this utility")
    ends = (days.dig + 20 * ONE_DAY).isoformat()
    office.chooses(state="clear")
    office.types(clear_on=friday, renew_by=ends, expires_on=ends)
    office.presses("Save")
    office.reads("Nothing there")


def _opens_clearance(office: Person, name: str) -> None:
    office.opens("/sites/")
    office.follows("4 Larch Court, Dunmere")
    office.follows(name)


def write_the_deposit_down(office: Person, days: Days) -> None:
    _opens_the_job(office)
    office.follows("Proposal")
    office.follows("Invoices and payments")
    office.reads("The deposit is marked received, but no payment is written down")
    office.types(amount="477.73", received_on=days.friday.isoformat(), reference="118")
    office.presses("Write it down")
    office.does_not_read("no payment is written down")


def name_the_crew(owner: Person, office: Person) -> None:
    """The office names crew and people; what their hour costs is the owner's to write."""
    office.opens("/crews/new/")
    office.types(name="North crew", day_start="07:00", hours_per_day="8")
    office.picks("lead", "Tobias")
    office.presses("Add the crew")
    for name in ("Tobias Marsh", "Ada Quill"):
        office.follows("Add a person")
        office.types(name=name)
        office.does_not_read("What an hour costs")
        office.presses("Add the person")
    for name, cost in (("Tobias Marsh", "52.00"), ("Ada Quill", "44.00")):
        owner.opens("/crews/")
        owner.follows("North crew")
        owner.follows(name)
        owner.types(hourly_cost=cost)
        owner.presses("Save")
    office.opens("/crews/")
    office.follows("North crew")
    office.does_not_read("52.00")


def plan_the_days(office: Person, days: Days) -> None:
    """Material is here and the string is told; the job takes its days by one press."""
    _opens_the_job(office)
    office.reads("May we dig? Not yet")
    office.reads("no date promised")
    office.follows("Prepare")
    for name in ("Posts and concrete", "Rails, panels, fabric", "Gates and hardware"):
        material = office.page.get_by_role("group", name=name)
        material.get_by_label("Came on").fill(days.friday.isoformat())
    office.page.get_by_label("String over the ground").fill("6")
    office.page.get_by_label("Note for the crew").fill("Mind the lilac at the gate.")
    office.presses("Save")
    office.reads("May we dig? Yes")
    office.presses("Place on the calendar")
    office.reads(f"{days.dig:%a %b} {days.dig.day}")
    office.opens(f"/calendar/?week={days.dig:%G-W%V}")
    for words in ("Layout and string, 0.75 h", "Digging, 3.25 h", "Setting posts, concrete"):
        office.reads(words)


def read_the_sheet(crew: Person, days: Days) -> str:
    """Before seven, on the phone: may I dig, how deep; returns the sheet's address."""
    _begins_a_day(crew, CREW)
    crew.page.get_by_role("link", name=re.compile("412, Wren Halloway")).first.click()
    crew.looks()
    crew.reads(f"May I dig here on {days.dig:%a, %b} {days.dig.day}? YES")
    crew.reads("Mind the lilac at the gate.")
    third, fifth = crew.page.locator("#post-3"), crew.page.locator("#post-5")
    for post, words in ((third, "39 in deep"), (third, "10-0 long"), (fifth, "26-11 5/16")):
        expect(post).to_contain_text(words)
    crew.reads("Bays 3 to 4 (posts 4 to 6): 73-5/16 in")
    crew.reads("Panels from Friday")
    crew.does_not_read("$")
    return crew.page.url


def move_a_post(crew: Person, office: Person, sheet: str) -> None:
    """Post 5 stands elsewhere: the sheet read before is void, and the office is told."""
    _opens_the_job(crew)
    crew.follows("Enter the ground as found")
    crew.page.get_by_label("Post 5 stands at").fill("27' 4 5/16\"")
    crew.field("note").fill("A root at post 5")
    crew.presses("Work it out")
    for words in ("78-5/16", "68-5/16"):
        crew.reads(words)
    crew.presses("Save it: this is the sheet now")
    crew.reads("Version 1 is the sheet now")
    crew.does_not_read("$")
    crew.opens(sheet)
    crew.reads("78-5/16")
    crew.reads("Every print of an earlier layout is void")
    crew.opens(f"{sheet}?version=0")
    crew.reads("VOID: do not build from this")
    _opens_the_job(office)
    office.reads("The crew builds by version 1 of the sheet, marked by Tobias Marsh")
    office.follows("1, The fence as marked on the ground")
    office.reads("-$9.95")
    office.reads("-$0.65")
    office.presses("Drop it")


def report_the_dig(crew: Person, sheet: str, tmp_path: Path) -> None:
    """All posts, bags, air, hours by person and phase, rock at one post with its photo."""
    crew.opens(sheet)
    crew.follows("Report this day")
    crew.page.get_by_role("button", name="All posts set").click()
    crew.reads("All 7 posts are set.")
    crew.types(bags_used="28", air_f="55", pour_time="15:15")
    rows = [
        ("Tobias Marsh", "07:00", "08:00", "0", "Layout and string"),
        ("Tobias Marsh", "08:00", "12:00", "0", "Digging"),
        ("Tobias Marsh", "12:30", "15:30", "0", "Setting posts, concrete"),
        ("Ada Quill", "08:00", "12:00", "0", "Digging"),
        ("Ada Quill", "12:30", "15:00", "0", "Setting posts, concrete"),
    ]
    _types_hours(crew, rows)
    crew.page.get_by_text("Rock", exact=True).first.click()
    crew.types(**{"rock-0-post_number": "6", "rock-0-depth_in": "24", "rock-0-minutes": "25"})
    Image.new("RGB", (40, 30), "sienna").save(tmp_path / "rock.jpg")
    crew.chooses(photo_subject="rock")
    crew.field("photos").set_input_files(tmp_path / "rock.jpg")
    crew.reads("1 photo kept.")
    _ticks_finished(crew, "Layout and string")
    crew.presses("Save the report")
    crew.reads("Panels from Wednesday 23:00: 55.75 h at a mean of 55 F")


def sign_for_the_rock(office: Person, crew: Person) -> None:
    """The office drafts it from the report; the customer signs it on the crew's phone."""
    _opens_the_job(office)
    office.reads("Rock was met at post 6")
    office.presses("Draft a change order for the rock")
    _opens_the_job(crew)
    crew.page.get_by_role("link", name=re.compile("Hand over to sign")).click()
    crew.looks()
    for words in ("$95.00", "$6.18", "$101.18", "$5,070.18"):
        crew.reads(words)
    crew.types(signed_name="Wren Halloway")
    crew.draws()
    crew.presses("Sign this change")
    crew.reads("It can't be changed any more.")


def read_the_forecast(owner: Person) -> None:
    """In the evening of the dig day, while something can still be saved."""
    owner.opens("/margins/")
    owner.reads("412")
    owner.page.get_by_role("link", name=re.compile("412")).first.click()
    owner.looks()
    for words in ("$754.14", "Digging costs $69.75 more than estimated"):
        owner.reads(words)


def place_the_rest(office: Person, days: Days) -> None:
    """With the real pour the wait is shorter; the gate still waits over the week-end."""
    _opens_the_job(office)
    office.reads("Panels from Wednesday 23:00: 55.75 h at a mean of 55 F")
    office.presses("Place on the calendar")
    for day, work in ((days.hang, "Hanging"), (days.gate, "Gates")):
        row = office.page.get_by_role("row", name=re.compile(f"{day:%a %b} {day.day}, .*{work}"))
        expect(row).to_be_visible()


def hang(crew: Person) -> None:
    crew.opens("/days/")
    crew.page.get_by_role("link", name=re.compile("412, Wren Halloway")).first.click()
    crew.looks()
    crew.reads("Is the concrete hard? YES")
    crew.reads("78-5/16")
    crew.follows("Report this day")
    rows = [
        ("Tobias Marsh", "07:30", "10:00", "0", "Hanging"),
        ("Ada Quill", "07:30", "10:00", "0", "Hanging"),
    ]
    _types_hours(crew, rows)
    _ticks_finished(crew, "Hanging")
    crew.presses("Save the report")
    crew.reads("The report is saved.")


def hang_the_gate_and_leave(crew: Person) -> None:
    crew.opens("/days/")
    crew.page.get_by_role("link", name=re.compile("412, Wren Halloway")).first.click()
    crew.looks()
    crew.reads("Gate A1: 48 in clear")
    crew.follows("Report this day")
    rows = [
        ("Tobias Marsh", "10:00", "12:00", "30", "Gates"),
        ("Tobias Marsh", "12:00", "13:30", "0", "Set-up, spoil, clean-up"),
        ("Ada Quill", "10:00", "13:30", "30", "Set-up, spoil, clean-up"),
    ]
    _types_hours(crew, rows)
    _ticks_finished(crew, "Gates")
    _ticks_finished(crew, "Set-up, spoil, clean-up")
    crew.presses("Save the report")
    crew.reads("The report is saved.")


def _ticks_finished(crew: Person, phase: str) -> None:
    crew.page.get_by_role("group", name="Finished for good").get_by_label(phase).check()


def write_the_receipt_down(office: Person, days: Days) -> None:
    _opens_the_job(office)
    office.follows("Costs and receipts")
    office.chooses(kind="material")
    office.types(
        description="Posts, panels, concrete",
        supplier="Yard at the bridge",
        spent_on=days.friday.isoformat(),
        amount="1642.80",
    )
    office.presses("Write it down")
    office.reads("$1,642.80")
    office.does_not_read("argin")


def finish(crew: Person) -> None:
    """A point to put right, put right; the walk along the fence; the customer's name and line."""
    _opens_the_job(crew)
    crew.follows("Punch list and completion")
    crew.types(text="Cap missing", post_number="4")
    crew.presses("Add to the list")
    crew.page.get_by_role("button", name=re.compile("Done.*Cap missing")).click()
    crew.looks()
    crew.types(signed_name="Wren Halloway")
    crew.draws()
    crew.presses("Finish the job")
    crew.reads("Signed by Wren Halloway")
    crew.does_not_read("$")


def issue_the_balance(office: Person) -> None:
    """It stands drafted the same day."""
    office.opens("/invoices/")
    office.follows("Drafts")
    office.follows("Draft, balance")
    office.reads("$4,592.45")
    office.presses("Issue the invoice")
    office.reads("Invoice 1001 is issued and goes to wren@example.com.")


def read_the_margin(owner: Person) -> None:
    _opens_the_job(owner, state="finished")
    owner.follows("$639.18, 13.4 % of the price")
    for words in ("$813.29", "17.1 %", "$601.58", "$956.25", "$3,165.30", "25.50 h"):
        owner.reads(words)
    owner.reads("Hanging costs $139.87 more than estimated, with the overhead it carries: 5 h")


def _types_hours(crew: Person, rows: list[tuple[str, str, str, str, str]]) -> None:
    for number, (who, start, end, pause, phase) in enumerate(rows):
        if not crew.field(f"hours-{number}-member").count():
            crew.page.locator('[data-add="hours"]').click()
        crew.picks(f"hours-{number}-member", who)
        crew.types(**{f"hours-{number}-started": start, f"hours-{number}-ended": end})
        crew.types(**{f"hours-{number}-break_min": pause})
        row = crew.page.locator("[data-row]", has=crew.field(f"hours-{number}-member"))
        row.locator("summary").click()
        crew.picks(f"hours-{number}-phase", phase)


def _opens_the_job(person: Person, *, state: str = "to_do") -> None:
    person.opens(f"/jobs/?state={state}")
    person.page.get_by_role("link", name=re.compile("412, ")).first.click()
    person.looks()


def from_the_job_to_its_margin(
    owner: Person, office: Person, crew: Person, *, clock: Clock, tmp_path: Path
) -> None:
    """Walk the second half, day by day; the crew lead has a phone and not yet a day."""
    days = Days.after(timezone.localdate())
    clock.goes_to(days.friday, 9)
    _begins_a_day(owner, OWNER)
    _begins_a_day(office, OFFICE)
    settle_the_papers(office, days)
    write_the_deposit_down(office, days)
    name_the_crew(owner, office)
    plan_the_days(office, days)
    clock.goes_to(days.dig, 6, 45)
    sheet = read_the_sheet(crew, days)
    move_a_post(crew, office, sheet)
    clock.goes_to(days.dig, 15, 45)
    report_the_dig(crew, sheet, tmp_path)
    sign_for_the_rock(office, crew)
    read_the_forecast(owner)
    place_the_rest(office, days)
    clock.goes_to(days.hang, 10, 15)
    hang(crew)
    clock.goes_to(days.gate, 13, 45)
    hang_the_gate_and_leave(crew)
    write_the_receipt_down(office, days)
    finish(crew)
    issue_the_balance(office)
    read_the_margin(owner)
