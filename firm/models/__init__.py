"""The tables of the firm, one noun to a module."""

from firm.models.customers import Customer, Enquiry
from firm.models.jobs import Job, JobState
from firm.models.log_ins import FailedLogIn
from firm.models.profile import FirmProfile
from firm.models.records import AuditEntry, MailAttachment, OutgoingMail
from firm.models.sites import Attachment, Clearance, JobSite, Jurisdiction, UtilityAnswer
from firm.models.users import Role, User

__all__ = [
    "Attachment",
    "AuditEntry",
    "Clearance",
    "Customer",
    "Enquiry",
    "FailedLogIn",
    "FirmProfile",
    "Job",
    "JobSite",
    "JobState",
    "Jurisdiction",
    "MailAttachment",
    "OutgoingMail",
    "Role",
    "User",
    "UtilityAnswer",
]
