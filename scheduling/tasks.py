"""What carries out background jobs, and tells firm whose a site is, who reads what, what moves."""

from estimating.services.acceptances import MAKE_JOB
from estimating.services.demo import on_demo
from estimating.services.price_book import items_are_counted_by
from firm.selectors.reach import sites_are_reached_by
from firm.selectors.readers import crew_leads_read_by
from firm.services.jobs import job_handler
from firm.services.profile import around_profile_changes
from scheduling.selectors.crew_languages import kept_language_of
from scheduling.selectors.reach import keys_of_sites_within_reach
from scheduling.selectors.stock import where_counted
from scheduling.services.demo import show_crews_and_jobs
from scheduling.services.holidays import noting_other_holidays
from scheduling.services.jobs import carry_out_making
from scheduling.services.order_pdf import carry_out_printing
from scheduling.services.orders import PRINT_JOB
from scheduling.services.plan_drafts import PLAN_JOB, carry_out_planning

job_handler(MAKE_JOB)(carry_out_making)
job_handler(PRINT_JOB)(carry_out_printing)
job_handler(PLAN_JOB)(carry_out_planning)
sites_are_reached_by(keys_of_sites_within_reach)
on_demo(show_crews_and_jobs)
items_are_counted_by(where_counted)
crew_leads_read_by(kept_language_of)
around_profile_changes(noting_other_holidays)
