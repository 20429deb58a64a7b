"""Certificates that came with lots: what they say, the file itself, and the lots they were laid beside."""

from __future__ import annotations

from django.db import models
from django.db.models import Q


class CertificateFile(models.Model):
    """The bytes of a file, once for each content: its name is the checksum, which the audit recomputes."""

    sha256 = models.CharField(max_length=64, primary_key=True, help_text="in lower-case hexadecimal")
    content = models.BinaryField()
    size_bytes = models.PositiveIntegerField()

    class Meta:
        constraints = [models.CheckConstraint(name="certificate_file_not_empty", condition=Q(size_bytes__gte=1))]


class Certificate(models.Model):
    """One certificate of a supplier; `lots`: the codes printed on it. It does not count where its act was taken back."""

    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="certificates")
    supplier = models.ForeignKey("inventory.Supplier", models.PROTECT, related_name="certificates")
    number = models.CharField(max_length=60)
    heat = models.CharField(max_length=60, blank=True, help_text="heat or batch of the maker")
    dated_on = models.DateField()
    lots = models.JSONField(help_text="lot codes as they are printed on it")
    file = models.ForeignKey(CertificateFile, models.PROTECT, db_index=False, related_name="certificates")
    filename = models.CharField(max_length=120)
    content_type = models.CharField(max_length=40)

    class Meta:
        constraints = [models.CheckConstraint(name="certificate_number_not_empty", condition=~Q(number=""))]
        indexes = [models.Index(fields=["number"], name="certificate_by_number")]

    def __str__(self) -> str:
        return self.number


class CertificateLot(models.Model):
    """A certificate was laid beside a lot, whether it speaks of it or not."""

    certificate = models.ForeignKey(Certificate, models.PROTECT, related_name="links")
    lot = models.ForeignKey("inventory.Lot", models.PROTECT, related_name="certificates")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="certificate_links")
