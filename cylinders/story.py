"""What must be true of a cylinder, told from its events alone.

``tell`` folds the history of one cylinder, oldest first, into a :class:`State`. The service stores
the same facts in rows so that pages are quick; ``verify`` holds the rows against this fold, so a
row that was altered without an event is found.
"""

from collections.abc import Callable, Iterable

from cylinders.facts import Kind
from cylinders.lab_story import LAB_TELLERS
from cylinders.rules.stages import Stage
from cylinders.state import (
    FILE_FIELDS,
    INSPECTION_FIELDS,
    MARKING_FIELDS,
    PART_FIELDS,
    FactsDict,
    State,
)

__all__ = [
    "FILE_FIELDS",
    "INSPECTION_FIELDS",
    "MARKING_FIELDS",
    "PART_FIELDS",
    "FactsDict",
    "State",
    "tell",
]


def _received(state: State, facts: FactsDict) -> None:
    state.markings = {name: facts["markings"][name] for name in MARKING_FIELDS}
    state.decoded = facts["decoded_sha256"]
    state.owner = facts["owner"]
    state.use_gas = facts["use_gas"]
    state.oxygen_clean = facts["oxygen_clean"]
    state.last_visual = facts["last_visual"]
    state.last_oxygen_clean = facts["last_oxygen_clean"]
    if facts["condemned_by_marks"]:
        state.life = "condemned"
    state.move(facts, Stage.CONDEMNED if state.life == "condemned" else Stage.RECEIVED)


def _proven_empty(state: State, facts: FactsDict) -> None:
    state.proven_empty.add(facts["work_order"])


def _inspected(state: State, facts: FactsDict) -> None:
    seen = {name: facts.get(name, "") for name in INSPECTION_FIELDS}
    state.inspections[facts["inspection"]] = seen
    _inspection_ended(state, facts)


def _second_looked(state: State, facts: FactsDict) -> None:
    seen = {"second_look": facts["seen"], "second_notes": facts["notes"]}
    state.inspections[facts["inspection"]].update(seen, result=facts["result"])
    _inspection_ended(state, facts)


def _inspection_ended(state: State, facts: FactsDict) -> None:
    if facts["result"] == "passed":
        state.last_visual = facts["month"]
        state.move(facts, Stage.INSPECTED)
    elif facts["result"] != "waiting":
        state.life = facts["result"]
        state.move(facts, Stage(facts["result"]))


def _part_removed(state: State, facts: FactsDict) -> None:
    state.parts[facts["part"]] = "bagged"
    made = {name: facts[name] for name in PART_FIELDS if name != "kind"}
    state.made[facts["part"]] = made | {"kind": facts["part_kind"]}


def _part_fitted(state: State, facts: FactsDict) -> None:
    state.parts[facts["part"]] = "fitted"


def _part_unfitted(state: State, facts: FactsDict) -> None:
    state.parts[facts["part"]] = "bagged"


def _part_accounted(state: State, facts: FactsDict) -> None:
    state.parts[facts["part"]] = "accounted"


def _part_serviced(state: State, facts: FactsDict) -> None:
    state.last_valve_service = facts["month"]


def _oxygen_cleaned(state: State, facts: FactsDict) -> None:
    state.oxygen_clean = True
    state.last_oxygen_clean = facts["month"]


def _oxygen_broken(state: State, _facts: FactsDict) -> None:
    state.oxygen_clean = False


def _filled(state: State, facts: FactsDict) -> None:
    state.fills[facts["fill"]] = (
        facts["oxygen_fraction"],
        facts["pressure"],
        facts["pressure_unit"],
    )
    state.move(facts, Stage.FILLED)


def _collected(state: State, facts: FactsDict) -> None:
    for part in facts["returned_parts"]:
        state.parts[part] = "accounted"
    state.move(facts, Stage.COLLECTED)


def _rejected(state: State, facts: FactsDict) -> None:
    state.life = "rejected"
    state.move(facts, Stage.REJECTED)


def _condemned(state: State, facts: FactsDict) -> None:
    state.life = "condemned"
    state.move(facts, Stage.CONDEMNED)


def _corrected(state: State, facts: FactsDict) -> None:
    state.markings[facts["field"]] = facts["becomes"]


def _owner_changed(state: State, facts: FactsDict) -> None:
    state.owner = facts["becomes"]


def _tag_bound(state: State, facts: FactsDict) -> None:
    state.tags[facts["code"]] = (facts["tag_kind"], facts["part"], True)


def _tag_retired(state: State, facts: FactsDict) -> None:
    kind, part, _live = state.tags[facts["code"]]
    state.tags[facts["code"]] = (kind, part, False)


def _file_added(state: State, facts: FactsDict) -> None:
    known = {name: facts[name] for name in FILE_FIELDS}
    state.files[facts["attachment"]] = known | {"for_owner": False, "erased": False}


def _file_shown(state: State, facts: FactsDict) -> None:
    state.files[facts["attachment"]]["for_owner"] = facts["shown"]


def _file_erased(state: State, facts: FactsDict) -> None:
    state.files[facts["attachment"]].update(for_owner=False, erased=True)


def _packed(state: State, facts: FactsDict) -> None:
    state.runs[facts["work_order"], facts["consignment"]] = ("packed", None, "")


def _unpacked(state: State, facts: FactsDict) -> None:
    state.runs.pop((facts["work_order"], facts["consignment"]), None)


def _sent(state: State, facts: FactsDict) -> None:
    place = facts["work_order"], facts["consignment"]
    state.runs[place] = ("out", facts["lab"], facts["carrier"])
    state.move(facts, Stage.AT_LAB)


def _returned(state: State, facts: FactsDict) -> None:
    place = facts["work_order"], facts["consignment"]
    state.runs[place] = ("home", *state.runs[place][1:])
    state.move(facts, Stage.BACK)


def _return_undone(state: State, facts: FactsDict) -> None:
    place = facts["work_order"], facts["consignment"]
    state.runs[place] = ("out", *state.runs[place][1:])
    state.move(facts, Stage.AT_LAB)


def _notice_sent(state: State, facts: FactsDict) -> None:
    state.notices[facts["notice"]] = (facts["duty"], facts["due"], facts["channel"])


def _mover(stage: Stage) -> Callable[[State, FactsDict], None]:
    def move(state: State, facts: FactsDict) -> None:
        state.move(facts, stage)

    return move


#: kinds that are not listed change nothing but the story itself
_TELLERS: dict[Kind, Callable[[State, FactsDict], None]] = {
    **LAB_TELLERS,
    Kind.RECEIVED: _received,
    Kind.PROVEN_EMPTY: _proven_empty,
    Kind.PART_REMOVED: _part_removed,
    Kind.TORN_DOWN: _mover(Stage.TORN_DOWN),
    Kind.PACKED: _packed,
    Kind.UNPACKED: _unpacked,
    Kind.SENT: _sent,
    Kind.RETURNED: _returned,
    Kind.RETURN_UNDONE: _return_undone,
    Kind.NOTICE_SENT: _notice_sent,
    Kind.INSPECTED: _inspected,
    Kind.SECOND_LOOKED: _second_looked,
    Kind.PART_SERVICED: _part_serviced,
    Kind.OXYGEN_CLEANED: _oxygen_cleaned,
    Kind.OXYGEN_CLEAN_BROKEN: _oxygen_broken,
    Kind.PART_FITTED: _part_fitted,
    Kind.PART_UNFITTED: _part_unfitted,
    Kind.PART_ACCOUNTED: _part_accounted,
    Kind.REASSEMBLED: _mover(Stage.REASSEMBLED),
    Kind.FILLED: _filled,
    Kind.READY: _mover(Stage.READY),
    Kind.COLLECTED: _collected,
    Kind.REJECTED: _rejected,
    Kind.CONDEMNED: _condemned,
    Kind.WITHDRAWN: _mover(Stage.WITHDRAWN),
    Kind.CORRECTED: _corrected,
    Kind.OWNER_CHANGED: _owner_changed,
    Kind.TAG_BOUND: _tag_bound,
    Kind.TAG_RETIRED: _tag_retired,
    Kind.FILE_ADDED: _file_added,
    Kind.FILE_SHOWN: _file_shown,
    Kind.FILE_ERASED: _file_erased,
}


def tell(events: Iterable[tuple[str, FactsDict]]) -> State:
    """Fold ``(kind, facts)`` pairs, oldest first, into the state they lead to.

    Raises ``ValueError`` for a kind that :class:`cylinders.facts.Kind` does not know.
    """
    state = State()
    for kind, facts in events:
        teller = _TELLERS.get(Kind(kind))
        if teller:
            teller(state, facts)
    return state
