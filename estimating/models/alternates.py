"""Alternates of an estimate: named ways to build the same site otherwise."""

from django.db import models

from estimating.models.estimates import Estimate


class EstimateAlternate(models.Model):
    """A named way of building an estimate's site otherwise; its swaps say what differs."""

    estimate = models.ForeignKey(Estimate, on_delete=models.CASCADE, related_name="alternates")
    position = models.PositiveSmallIntegerField(default=0)
    name = models.CharField(max_length=80)

    class Meta:
        ordering = (
            "position",
            "pk",
        )
        constraints = (
            models.UniqueConstraint(fields=["estimate", "name"], name="alternate_named_once"),
            models.CheckConstraint(condition=~models.Q(name=""), name="alternate_has_a_name"),
        )

    def __str__(self) -> str:
        return self.name


class AlternateSwap(models.Model):
    """One thing that an alternate builds otherwise: a line's system, or a gate's opening."""

    alternate = models.ForeignKey(EstimateAlternate, on_delete=models.CASCADE, related_name="swaps")
    line_id = models.CharField(max_length=40)
    gate_id = models.CharField(max_length=40, blank=True)
    system = models.CharField(max_length=60, blank=True)
    opening_in = models.FloatField(null=True, blank=True)

    class Meta:
        ordering = (
            "line_id",
            "gate_id",
        )
        constraints = (
            models.UniqueConstraint(
                fields=["alternate", "line_id", "gate_id"], name="one_swap_per_place"
            ),
            models.CheckConstraint(
                condition=(models.Q(gate_id="", opening_in=None) & ~models.Q(system=""))
                | (~models.Q(gate_id="") & models.Q(system="", opening_in__gt=0)),
                name="swap_of_a_system_or_a_gate",
            ),
        )

    def __str__(self) -> str:
        return f"{self.line_id} {self.gate_id}".strip()
