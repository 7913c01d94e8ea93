"""What carries out this app's background jobs."""

from estimating.services.acceptances import MAKE_JOB
from firm.services.jobs import job_handler
from scheduling.services.jobs import carry_out_making

job_handler(MAKE_JOB)(carry_out_making)
