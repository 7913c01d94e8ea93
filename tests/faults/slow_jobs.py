"""Jobs for the worker under test; it is told to load this module."""

import time

from firm.services import jobs


@jobs.job_handler("tests.quick")
def be_quick(run: jobs.JobRun) -> dict[str, int]:
    return {"attempt": run.attempt}


@jobs.job_handler("tests.slow_at_first")
def be_slow_at_first(run: jobs.JobRun) -> dict[str, int]:
    if run.attempt == 1:
        run.report(10)
        time.sleep(60)
    return {"attempt": run.attempt}
