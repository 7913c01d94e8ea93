"""What carries out this app's background jobs, and its part in setting a firm up."""

from django.utils import timezone

from estimating.selectors.invoices import PRINT_JOB
from estimating.services import invoice_pdf, proposal_sending
from estimating.services.starter import load_starter_for_new_firm
from firm.celery import app
from firm.services import jobs, profile

jobs.job_handler(proposal_sending.SEND_JOB)(proposal_sending.carry_out_sending)
jobs.job_handler(PRINT_JOB)(invoice_pdf.carry_out_printing)
# A new firm begins with fence systems, prices and rates, not with empty lists.
profile.on_set_up(load_starter_for_new_firm)


@app.task(name="estimating.tasks.expire_proposals")
def expire_proposals() -> None:
    proposal_sending.mark_expired(now=timezone.now())
