"""The tables of estimating, one noun to a module."""

from estimating.models.alternates import AlternateSwap, EstimateAlternate
from estimating.models.catalog import FenceSystem, PriceItem, ProductionRate, UncertainRow
from estimating.models.changes import ChangeOrder, GroundChange
from estimating.models.estimates import Estimate, EstimateLine, EstimateOverride, SiteMeasurement
from estimating.models.invoices import Invoice, InvoiceLine, Payment
from estimating.models.proposals import Acceptance, Proposal, ProposalOption, ProposalPayment
from estimating.models.suppliers import Supplier

__all__ = [
    "Acceptance",
    "AlternateSwap",
    "ChangeOrder",
    "Estimate",
    "EstimateAlternate",
    "EstimateLine",
    "EstimateOverride",
    "FenceSystem",
    "GroundChange",
    "Invoice",
    "InvoiceLine",
    "Payment",
    "PriceItem",
    "ProductionRate",
    "Proposal",
    "ProposalOption",
    "ProposalPayment",
    "SiteMeasurement",
    "Supplier",
    "UncertainRow",
]
