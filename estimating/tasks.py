"""What carries out this app's background jobs, and its part in setting a firm up."""

from estimating.services import proposal_sending
from estimating.services.starter import load_starter_for_new_firm
from firm.services import jobs, profile

jobs.job_handler(proposal_sending.SEND_JOB)(proposal_sending.carry_out_sending)
# A new firm begins with fence systems, prices and rates, not with empty lists.
profile.on_set_up(load_starter_for_new_firm)
