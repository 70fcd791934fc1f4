"""What one lab has in its hands, with the tags on it, and which of it a post or a scan names.

The API and the lab's pages both read from here: cylinders are the domain's, tags are the labels',
so the two meet at the edge.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import urlsplit

from django.conf import settings
from django.utils.translation import gettext as _

from api.wording import told
from cylinders.models import ConsignmentLine, Cylinder
from cylinders.queries import for_lab
from cylinders.queries.for_lab import Stamped
from cylinders.rules.refusal import Refused
from labels import codes
from labels.models import Tag, TagKind, TagState

#: The tags that travel with a bare cylinder; bags and kits stay at the shop.
_TRAVELLING = (TagKind.CYLINDER, TagKind.TEARDOWN)


@dataclass(frozen=True, slots=True)
class InHand:
    """One cylinder in a lab's hands; codes are empty where it bears no such tag."""

    line: ConsignmentLine
    cylinder: Cylinder
    tag: str
    teardown_tag: str
    references: tuple[str, ...]


def in_hand(*, lab_id: int, lines: Sequence[ConsignmentLine]) -> list[InHand]:
    """The cylinders of these lines with their tags and the references of the records sent so far.

    Two queries, however many lines.
    """
    orders = [line.work_order_id for line in lines]
    cylinders = [line.work_order.cylinder_id for line in lines]
    tags = Tag.objects.filter(state=TagState.LIVE, cylinder__in=cylinders, kind__in=_TRAVELLING)
    fixed = {(TagKind(tag.kind), _bearer(tag)): tag.code for tag in tags}
    references = for_lab.references_by_order(lab_id=lab_id, work_orders=orders)
    return [
        InHand(
            line=line,
            cylinder=line.work_order.cylinder,
            tag=fixed.get((TagKind.CYLINDER, line.work_order.cylinder_id), ""),
            teardown_tag=fixed.get((TagKind.TEARDOWN, line.work_order_id), ""),
            references=tuple(references.get(line.work_order_id, ())),
        )
        for line in lines
    ]


def named(*, lab_id: int, tag: str, stamped: Stamped) -> Cylinder:
    """The one cylinder sent to that lab that a tag names or, without a tag, the four marks.

    Raises :class:`Refused`: ``cylinder_not_found`` for what is unknown or elsewhere (the two are
    not told apart), ``tag_retired``, ``cylinder_ambiguous``. Nothing is guessed: the marks must fit
    exactly one.
    """
    if tag:
        return by_tag(lab_id=lab_id, text=tag)
    return _only(for_lab.cylinders_stamped(lab_id=lab_id, stamped=stamped))


def named_many(*, lab_id: int, marks: Sequence[tuple[str, Stamped]]) -> list[int | Refused]:
    """The number of the cylinder that :func:`named` returns for each ``(tag, marks)``, or why none.

    One query for all of them.
    """
    tags: dict[str, tuple[int, bool]] = {}
    stamped: dict[tuple[str, ...], set[int]] = {}
    for pk, code, state, kind, *four in for_lab.lines_sent(lab_id=lab_id).values_list(
        *(f"work_order__cylinder__{name}" for name in _NAMING)
    ):
        stamped.setdefault(for_lab.folded(Stamped(*four)), set()).add(pk)
        if code and kind in _TRAVELLING:
            tags[code] = pk, state == TagState.LIVE
    return [
        _by_tag_among(tags, tag) if tag else _the_only(stamped.get(for_lab.folded(of), set()))
        for tag, of in marks
    ]


#: what names a cylinder: its number, its tags, and the four marks in the order of ``Stamped``
_NAMING = (
    *("pk", "tags__code", "tags__state", "tags__kind"),
    *("authority", "specification", "serial", "manufacturer_mark"),
)


def _by_tag_among(tags: Mapping[str, tuple[int, bool]], text: str) -> int | Refused:
    """The cylinder among these that a tag names, or why none."""
    try:
        cylinder, live = tags.get(_code_of(text), (None, False))
    except Refused as refused:
        return refused
    if cylinder is None:
        return _no_such_tag()
    return cylinder if live else _retired_tag()


def _the_only(found: Collection[int]) -> int | Refused:
    return next(iter(found)) if len(found) == 1 else _not_one(len(found))


def _only(found: Sequence[Cylinder]) -> Cylinder:
    if len(found) != 1:
        raise _not_one(len(found))
    return found[0]


def _not_one(count: int) -> Refused:
    if count:
        return Refused(
            "cylinder_ambiguous",
            _("%(count)s cylinders sent to you bear these marks. Send the code on the tag.")
            % {"count": count},
        )
    return Refused(
        "cylinder_not_found",
        _(
            "No cylinder sent to you bears exactly these marks: authority, "
            "specification, serial and manufacturer's mark. Compare them with your "
            "list, or send the code on the tag."
        ),
    )


def by_tag(*, lab_id: int, text: str) -> Cylinder:
    """The cylinder sent to that lab that bears this tag; ``text`` as scanned or typed."""
    code = _code_of(text)
    tag = Tag.objects.select_related("cylinder").filter(code=code, kind__in=_TRAVELLING).first()
    if (
        tag is None
        or tag.cylinder is None
        or not for_lab.was_sent(lab_id=lab_id, cylinder_id=tag.cylinder.pk)
    ):
        raise _no_such_tag()
    if tag.state != TagState.LIVE:
        raise _retired_tag()
    return tag.cylinder


def _code_of(text: str) -> str:
    """The code in what was scanned or typed."""
    read = codes.extract(text, own_hosts())
    if isinstance(read, codes.Refused):
        raise Refused(
            "cylinder_not_found",
            _("%(read)s It names no cylinder sent to you.") % {"read": told(read.says)},
        )
    return read.code


def _no_such_tag() -> Refused:
    return Refused("cylinder_not_found", _("That tag names no cylinder that was sent to you."))


def _retired_tag() -> Refused:
    return Refused("tag_retired", _("That tag was retired. Scan the newer one on the cylinder."))


def bears(cylinder: Cylinder, text: str) -> bool:
    """Whether that cylinder bears, or once bore, the tag that was scanned or typed."""
    read = codes.extract(text, own_hosts())
    if isinstance(read, codes.Refused):
        return False
    tags = Tag.objects.filter(code=read.code, cylinder=cylinder, kind__in=_TRAVELLING)
    return tags.exists()


def tags_of(cylinders: Collection[int]) -> dict[int, str]:
    """The code of the live tag of each of these cylinders that has one."""
    tags = Tag.objects.filter(
        state=TagState.LIVE, kind=TagKind.CYLINDER, cylinder__in=cylinders
    ).values_list("cylinder", "code")
    return dict(tags)


def own_hosts() -> set[str]:
    """The hosts whose addresses stand on our tags."""
    return {settings.TAG_HOST, urlsplit(settings.PUBLIC_URL).netloc}


def _bearer(tag: Tag) -> int | None:
    """What a tag hangs on: its cylinder for ever, or the visit that it was printed for."""
    return tag.work_order_id if tag.kind == TagKind.TEARDOWN else tag.cylinder_id
