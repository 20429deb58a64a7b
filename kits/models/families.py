"""Engine families and procedures. Revisions are frozen documents: a job keeps the ones it was booked with."""

from __future__ import annotations

from django.db import models


class EngineFamily(models.Model):
    """Engines that share one map of use positions."""

    code = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=200)
    prefix = models.CharField(max_length=20, unique=True, help_text="what its engine numbers begin with")
    width = models.PositiveIntegerField(default=1, help_text="digits written after the prefix")

    def __str__(self) -> str:
        return self.code


class FamilyRevision(models.Model):
    """Map of use positions, findings, consequence rules, either/or groups and limits of a family, as one frozen document."""

    family = models.ForeignKey(EngineFamily, models.PROTECT, related_name="revisions", db_index=False)
    revision = models.PositiveIntegerField()
    document = models.JSONField()
    digest = models.CharField(max_length=64)
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    makers_stop = models.CharField(
        max_length=200, blank=True, help_text="the maker's bulletin that forces it; empty: nobody forces it"
    )

    class Meta:
        constraints = [models.UniqueConstraint(fields=["family", "revision"], name="family_revision_once")]


class Procedure(models.Model):
    """An operation that can be booked on an engine of the family."""

    family = models.ForeignKey(EngineFamily, models.PROTECT, related_name="procedures")
    code = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=200)

    def __str__(self) -> str:
        return self.code


class ProcedureRevision(models.Model):
    """Steps and parts lines of a procedure, as one frozen document."""

    procedure = models.ForeignKey(Procedure, models.PROTECT, related_name="revisions", db_index=False)
    revision = models.PositiveIntegerField()
    document = models.JSONField()
    digest = models.CharField(max_length=64)
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    makers_stop = models.CharField(
        max_length=200, blank=True, help_text="the maker's bulletin that forces it; empty: nobody forces it"
    )

    class Meta:
        constraints = [models.UniqueConstraint(fields=["procedure", "revision"], name="procedure_revision_once")]


class PartsLine(models.Model):
    """Which part a revision asks for at which positions: the document's lines, findable by part."""

    revision = models.ForeignKey(ProcedureRevision, models.PROTECT, related_name="parts_lines")
    line = models.CharField(max_length=60)
    part = models.ForeignKey("inventory.Part", models.PROTECT, related_name="parts_lines")
    at = models.TextField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["revision", "line"], name="parts_line_once")]
