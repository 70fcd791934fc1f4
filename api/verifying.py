"""Everything that can be held against the history, of all rooms at once."""

from dataclasses import replace

from api import guards, links
from cylinders import history
from cylinders.models import Cylinder
from cylinders.queries import stored_files, verification
from cylinders.queries.snapshot import snapshot
from cylinders.queries.verification import Verified
from labels import scanning


def everything() -> Verified:
    """Histories, rows, tags, links, files, and whether the triggers still guard them.

    A history that cannot be told is a problem of its own; its tags can then not be compared.
    """
    with snapshot():
        found = verification.rows()
        tags = scanning.tag_problems() if found.ok else ()
        problems = (*found.problems, *tags, *links.problems(), *guards.problems())
    return replace(found, problems=(*problems, *stored_files.problems()))


@snapshot()
def chains() -> Verified:
    """The chains of all histories alone, and the triggers; some hundred thousand events a second.

    Rows, tags and links are not held against them: :func:`everything` does that.
    """
    problems = (*history.quick_problems(), *guards.problems())
    return Verified(Cylinder.objects.count(), history.events_held(), problems)
