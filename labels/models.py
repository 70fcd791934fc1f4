"""Printed codes and what each is fixed to. A tag is never deleted and its code never changes."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from cylinders.models import Cylinder, Part, WorkOrder
from labels.qr import Symbol


class TagKind(models.TextChoices):
    """What a tag is printed for."""

    CYLINDER = "cylinder", "cylinder tag"
    TEARDOWN = "teardown", "teardown tag"
    BAG = "bag", "bag tag"
    KIT = "kit", "kit tag"


class TagState(models.TextChoices):
    """The life of a tag: minted blank, live once bound, retired for ever."""

    MINTED = "minted", "blank"
    LIVE = "live", "live"
    RETIRED = "retired", "retired"
    SPOILED = "spoiled", "spoiled in printing"


class Printed(models.TextChoices):
    """What is known of one label of a run. Sent is not printed: a person confirms the last good."""

    RESERVED = "reserved", "reserved"
    SENT = "sent", "sent to the printer"
    CONFIRMED = "confirmed", "seen and good"
    SPOILED = "spoiled", "spoiled"


class PrintRun(models.Model):
    """One run of blank labels; ``key`` makes a double click, or a second person, the same run.

    ``confirmed_at`` is set when a person has said which label was the last good one; until then
    nobody knows what the printer did with those that were sent.
    """

    key = models.CharField(max_length=64, unique=True)
    printer = models.CharField(max_length=40, blank=True)
    confirmed_at = models.DateTimeField(null=True, blank=True)
    started_at = models.DateTimeField()
    started_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        related_name="+",
    )
    count = models.PositiveIntegerField()

    def __str__(self) -> str:
        return f"print run {self.pk} of {self.count}"


class Tag(models.Model):
    """One code for one thing, for ever.

    A cylinder tag stands for a cylinder; a teardown tag for the bare cylinder of one visit; a bag
    tag for one part; a kit tag for the other parts of one visit. ``bits`` is the QR symbol as it
    was minted, so a reprint is the same to the last module.
    """

    code = models.CharField(max_length=13, unique=True)
    kind = models.CharField(max_length=10, choices=TagKind.choices, blank=True)
    state = models.CharField(max_length=8, choices=TagState.choices, default=TagState.MINTED)
    bits = models.CharField(max_length=200)
    url = models.CharField(max_length=80)
    mask = models.PositiveSmallIntegerField()
    minted_at = models.DateTimeField()
    print_run = models.ForeignKey(
        PrintRun,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="tags",
    )
    place = models.PositiveSmallIntegerField(null=True, blank=True)
    printed = models.CharField(max_length=10, choices=Printed.choices, blank=True)
    cylinder = models.ForeignKey(
        Cylinder,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="tags",
    )
    part = models.ForeignKey(
        Part,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="tags",
    )
    work_order = models.ForeignKey(
        WorkOrder,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="tags",
    )
    bound_at = models.DateTimeField(null=True, blank=True)
    retired_at = models.DateTimeField(null=True, blank=True)
    retired_why = models.CharField(max_length=200, blank=True)
    successor = models.OneToOneField(
        "self",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="predecessor",
    )

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=["cylinder"],
                condition=Q(state="live", kind="cylinder"),
                name="one_live_tag_per_cylinder",
            ),
            models.UniqueConstraint(
                fields=["part"],
                condition=Q(state="live", part__isnull=False),
                name="one_live_tag_per_part",
            ),
            models.UniqueConstraint(
                fields=["work_order", "kind"],
                condition=Q(state="live", kind__in=["teardown", "kit"]),
                name="one_live_tag_per_visit_and_kind",
            ),
            models.UniqueConstraint(
                fields=["print_run", "place"],
                name="one_label_per_place_in_a_run",
            ),
            models.CheckConstraint(
                condition=~Q(printed="spoiled", state="live"),
                name="a_spoiled_label_is_never_bound",
            ),
            models.CheckConstraint(
                condition=~Q(state="live") | Q(cylinder__isnull=False),
                name="a_live_tag_stands_for_something",
            ),
        )

    def __str__(self) -> str:
        return self.code

    @property
    def symbol(self) -> Symbol:
        """The QR symbol as it was minted."""
        return Symbol(bits=self.bits, url=self.url, mask=self.mask)
