"""The tables of estimating, one noun to a module."""

from estimating.models.catalog import FenceSystem, PriceItem, ProductionRate
from estimating.models.estimates import Estimate, EstimateLine, EstimateOverride, SiteMeasurement
from estimating.models.proposals import Acceptance, Proposal, ProposalOption, ProposalPayment

__all__ = [
    "Acceptance",
    "Estimate",
    "EstimateLine",
    "EstimateOverride",
    "FenceSystem",
    "PriceItem",
    "ProductionRate",
    "Proposal",
    "ProposalOption",
    "ProposalPayment",
    "SiteMeasurement",
]
