"""What is printed on the tag of a stored thing: the sheets' plain texts, taken from the tables.

No name of a customer is ever among them: a tag hangs where anybody can read it.
"""

from decimal import Decimal

from cylinders.models import Consignment, Cylinder, Fill, Part, PartKind, Shop, WorkOrder
from cylinders.rules.quantity import ROUND_FLOOR, Quantity
from labels.models import Tag, TagKind, TagState
from labels.sheets.condemned_tag import CondemnedTag
from labels.sheets.contents_label import ContentsLabel
from labels.sheets.cylinder_tag import CylinderTag
from labels.sheets.drawing import Content
from labels.sheets.kit_tag import KitTag
from labels.sheets.manifest import Manifest, ManifestLine
from labels.sheets.teardown_tag import TeardownTag
from labels.sheets.valve_bag import Oxygen, ValveBag

_IN_THE_NECK = (PartKind.VALVE, PartKind.MANIFOLD)
_HUNDRED = Decimal(100)


def content_of(tag: Tag) -> Content:
    """The sheet of ``tag``, filled in; a blank tag gives a cylinder tag with room for a pen."""
    if tag.part is not None:
        return _bag(tag, tag.part)
    if tag.work_order is not None and tag.kind == TagKind.KIT:
        return _kit(tag, tag.work_order)
    if tag.work_order is not None:
        return _teardown(tag, tag.work_order)
    cylinder = tag.cylinder
    return CylinderTag(
        symbol=tag.symbol,
        code=tag.code,
        specification=specification_line(cylinder) if cylinder else "",
        serial=cylinder.serial if cylinder else "",
        shop=_shop_line(),
    )


def contents_of(fill: Fill, tag: Tag, *, initials: str) -> ContentsLabel:
    """The contents label of a fill; ``tag`` is the cylinder's own. All figures as recorded."""
    share = Decimal(fill.oxygen_fraction) * _HUNDRED
    depth, _, at_ppo2 = fill.mod.partition(" at ")
    return ContentsLabel(
        symbol=tag.symbol,
        code=tag.code,
        gas=_gas_name(share),
        analysis=f"O2 {share.normalize():f} %",
        mod=depth.removeprefix("MOD "),
        at_ppo2=f"at {at_ppo2.partition(',')[0]}",
        pressure=_both_units(Quantity(Decimal(fill.pressure), fill.pressure_unit)),
        date=fill.filled_at.date().isoformat(),
        initials=initials,
    )


def manifest_of(consignment: Consignment) -> Manifest:
    """The list that goes with a consignment; raises ``ValueError`` when nothing is in it."""
    lines = consignment.lines.select_related("work_order__cylinder").order_by("pk")
    tags = {
        tag.cylinder_id: tag
        for tag in Tag.objects.filter(
            kind=TagKind.CYLINDER,
            state=TagState.LIVE,
            cylinder__in=[line.work_order.cylinder_id for line in lines],
        )
    }
    return Manifest(
        number=str(consignment.pk),
        date=(consignment.sent_at or consignment.opened_at).date().isoformat(),
        sender=_shop_line(),
        receiver=f"{consignment.lab.name}, {consignment.lab.rin}",
        lines=tuple(
            ManifestLine(
                symbol=tags[order.cylinder_id].symbol,
                code=tags[order.cylinder_id].code,
                serial=order.cylinder.serial,
                specification=specification_line(order.cylinder),
                services=", ".join(name.replace("_", " ") for name in order.services),
            )
            for order in (line.work_order for line in lines)
            if order.cylinder_id in tags
        ),
    )


def condemned_of(cylinder: Cylinder, tag: Tag, *, reason: str, date_and_by: str) -> CondemnedTag:
    """The tag of a condemned cylinder."""
    return CondemnedTag(
        symbol=tag.symbol,
        code=tag.code,
        serial=cylinder.serial,
        specification=specification_line(cylinder),
        reason=reason,
        date_and_by=date_and_by,
    )


def specification_line(cylinder: Cylinder) -> str:
    """Authority, specification and pressure as they would be stamped: "DOT-3AL 3000 psi"."""
    mark = "-".join(part for part in (cylinder.authority, cylinder.specification) if part)
    if not cylinder.service_pressure:
        return mark
    return f"{mark} {cylinder.service_pressure} {cylinder.pressure_unit}".strip()


def _bag(tag: Tag, part: Part) -> Content:
    if part.kind not in _IN_THE_NECK:
        return KitTag(
            symbol=tag.symbol,
            code=tag.code,
            cylinder=part.cylinder.serial,
            parts=(str(part),),
        )
    oxygen: Oxygen = "clean" if part.oxygen_clean else "not_clean"
    return ValveBag(
        symbol=tag.symbol,
        code=tag.code,
        cylinder=part.cylinder.serial,
        thread=part.thread,
        outlet=part.outlet,
        serial=part.serial,
        oxygen=oxygen,
    )


def _kit(tag: Tag, order: WorkOrder) -> KitTag:
    others = order.parts.exclude(kind__in=_IN_THE_NECK).order_by("pk")
    return KitTag(
        symbol=tag.symbol,
        code=tag.code,
        cylinder=order.cylinder.serial,
        parts=tuple(str(part) for part in others),
    )


def _teardown(tag: Tag, order: WorkOrder) -> TeardownTag:
    return TeardownTag(
        symbol=tag.symbol,
        code=tag.code,
        serial=order.cylinder.serial,
        specification=specification_line(order.cylinder),
        order=str(order.pk),
        date=order.opened_at.date().isoformat(),
        parts=_came_off(order),
    )


def _came_off(order: WorkOrder) -> str:
    kinds = [part.get_kind_display() for part in order.parts.order_by("pk")]
    sealed = [kind for kind in kinds if kind in _IN_THE_NECK]
    others = len(kinds) - len(sealed)
    return " + ".join([*sealed, *([f"{others} more"] if others else [])])


def _shop_line() -> str:
    shop = Shop.objects.first()
    return f"{shop.name}, {shop.phone}" if shop else ""


def _gas_name(percent: Decimal) -> str:
    if percent == Decimal(21):
        return "AIR"
    if percent == _HUNDRED:
        return "OXYGEN"
    # Named by the whole per cent below: the depth limit beside it comes from the analysis itself.
    return f"NITROX {int(percent)}" if percent > Decimal(21) else f"O2 {percent.normalize():f} %"


def _both_units(pressure: Quantity) -> str:
    other = "bar" if pressure.unit == "psi" else "psi"
    return f"{pressure} / {pressure.convert(other, places=0, rounding=ROUND_FLOOR)}"
