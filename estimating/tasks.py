"""What carries out this app's background jobs."""

from estimating.services import proposal_sending
from firm.services import jobs

jobs.job_handler(proposal_sending.SEND_JOB)(proposal_sending.carry_out_sending)
