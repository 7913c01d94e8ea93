"""The rows of this app."""

from scheduling.models.jobs import FenceJob, JobPhase

__all__ = ["FenceJob", "JobPhase"]
