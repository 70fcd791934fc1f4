"""A chain: what a lab sent, the correction of it, the correction of that, and so on."""

from typing import TypeVar

from django.db.models import QuerySet

from cylinders.models import LabReport, TestRecord

Link = TypeVar("Link", TestRecord, LabReport)


def chain_of(link: Link, own: QuerySet[Link]) -> list[Link]:
    """The chain that ``link`` stands in, the first one first; ``own`` is all that may be in it."""
    links = [link]
    while links[0].corrects:
        earlier = own.filter(lab_reference=links[0].corrects).first()
        if earlier is None or earlier in links:
            break
        links.insert(0, earlier)
    while later := own.filter(corrects=links[-1].lab_reference).first():
        if later in links:
            break
        links.append(later)
    return links
