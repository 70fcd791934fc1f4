"""The stages of one visit, and which step may follow which.

A work order moves from drop-off to collection; each step is allowed at some stages only and leads
to one. Source: common practice of a service bench; the order of the safety steps (empty before the
valve moves, requalified and marked before a fill) follows 49 CFR 180.205(c) and (f), 2019-10-01.

>>> check(Step.FILL, Stage.AT_LAB)
Traceback (most recent call last):
...
cylinders.rules.refusal.Refused: A fill is not possible while the cylinder is at the lab. \
Next: take the cylinder back in when it comes home.
>>> STEPS[Step.FINISH_TEARDOWN].leads_to
<Stage.TORN_DOWN: 'torn_down'>
"""

from dataclasses import dataclass
from enum import StrEnum

from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say


class Stage(StrEnum):
    """Where a visit stands."""

    RECEIVED = "received"
    TORN_DOWN = "torn_down"
    AT_LAB = "at_lab"
    BACK = "back"
    INSPECTED = "inspected"
    REASSEMBLED = "reassembled"
    FILLED = "filled"
    READY = "ready"
    COLLECTED = "collected"
    REJECTED = "rejected"
    CONDEMNED = "condemned"
    WITHDRAWN = "withdrawn"


class Step(StrEnum):
    """What somebody does at the bench."""

    PROVE_EMPTY = "prove_empty"
    REMOVE_PART = "remove_part"
    FINISH_TEARDOWN = "finish_teardown"
    PACK = "pack"
    UNPACK = "unpack"
    SEND = "send"
    TAKE_BACK = "take_back"
    UNDO_RETURN = "undo_return"
    COMPARE_STAMP = "compare_stamp"
    INSPECT = "inspect"
    SERVICE_PART = "service_part"
    CLEAN_FOR_OXYGEN = "clean_for_oxygen"
    FIT_PART = "fit_part"
    UNFIT_PART = "unfit_part"
    FINISH_REASSEMBLY = "finish_reassembly"
    FILL = "fill"
    CALL_READY = "call_ready"
    HAND_OVER = "hand_over"
    REJECT = "reject"
    CONDEMN = "condemn"
    WITHDRAW = "withdraw"


@dataclass(frozen=True, slots=True)
class StepRule:
    """One row: what the step is called, at which stages it may happen, and where it leads."""

    name: str
    allowed_at: frozenset[Stage]
    leads_to: Stage | None = None


_WORKING = frozenset(
    {
        Stage.RECEIVED,
        Stage.TORN_DOWN,
        Stage.AT_LAB,
        Stage.BACK,
        Stage.INSPECTED,
        Stage.REASSEMBLED,
        Stage.FILLED,
        Stage.READY,
    },
)
#: The stages at which a visit has come to an end other than by collection.
EXITS = frozenset({Stage.REJECTED, Stage.CONDEMNED, Stage.WITHDRAWN})
#: The order in which the board shows the stages.
BOARD = (
    Stage.RECEIVED,
    Stage.TORN_DOWN,
    Stage.AT_LAB,
    Stage.BACK,
    Stage.INSPECTED,
    Stage.REASSEMBLED,
    Stage.FILLED,
    Stage.READY,
    Stage.REJECTED,
    Stage.CONDEMNED,
    Stage.WITHDRAWN,
)


def _rule(name: str, *stages: Stage, leads_to: Stage | None = None) -> StepRule:
    return StepRule(name, frozenset(stages), leads_to)


STEPS: dict[Step, StepRule] = {
    Step.PROVE_EMPTY: _rule("Draining", Stage.RECEIVED),
    Step.REMOVE_PART: _rule(say("Taking a part off"), Stage.RECEIVED),
    Step.FINISH_TEARDOWN: _rule(
        say("Closing the teardown"), Stage.RECEIVED, leads_to=Stage.TORN_DOWN
    ),
    Step.PACK: _rule(say("Packing for the lab"), Stage.TORN_DOWN),
    Step.UNPACK: _rule(say("Taking out of a run"), Stage.TORN_DOWN),
    Step.SEND: _rule(say("Sending to the lab"), Stage.TORN_DOWN, leads_to=Stage.AT_LAB),
    Step.TAKE_BACK: _rule(say("Taking back in"), Stage.AT_LAB, leads_to=Stage.BACK),
    Step.UNDO_RETURN: _rule(say("Undoing its return"), Stage.BACK, leads_to=Stage.AT_LAB),
    Step.COMPARE_STAMP: _rule(say("Comparing the new stamp"), Stage.BACK),
    Step.INSPECT: _rule(
        say("An inspection"), Stage.TORN_DOWN, Stage.BACK, leads_to=Stage.INSPECTED
    ),
    Step.SERVICE_PART: _rule(
        say("Servicing a valve"),
        Stage.TORN_DOWN,
        Stage.AT_LAB,
        Stage.BACK,
        Stage.INSPECTED,
    ),
    Step.CLEAN_FOR_OXYGEN: _rule(
        say("Oxygen cleaning"), Stage.TORN_DOWN, Stage.BACK, Stage.INSPECTED
    ),
    Step.FIT_PART: _rule(say("Fitting a part"), Stage.INSPECTED),
    Step.UNFIT_PART: _rule(say("Taking a part off again"), Stage.INSPECTED),
    Step.FINISH_REASSEMBLY: _rule(
        say("Closing the reassembly"),
        Stage.INSPECTED,
        leads_to=Stage.REASSEMBLED,
    ),
    Step.FILL: _rule(say("A fill"), Stage.RECEIVED, Stage.REASSEMBLED, leads_to=Stage.FILLED),
    Step.CALL_READY: _rule(
        say("Calling it ready"),
        Stage.REASSEMBLED,
        Stage.FILLED,
        leads_to=Stage.READY,
    ),
    Step.HAND_OVER: StepRule(
        say("Handing over"),
        frozenset({Stage.READY}) | EXITS,
        Stage.COLLECTED,
    ),
    Step.REJECT: StepRule("Rejecting", _WORKING, Stage.REJECTED),
    Step.CONDEMN: StepRule("Condemning", _WORKING | {Stage.REJECTED}, Stage.CONDEMNED),
    Step.WITHDRAW: StepRule(say("Withdrawing the order"), _WORKING, Stage.WITHDRAWN),
}

#: What stands at each stage, and the one thing to do next, in a technician's words.
NEXT: dict[Stage, tuple[str, str]] = {
    Stage.RECEIVED: (
        say("has only been received"),
        say("drain it, prove it empty and take it down"),
    ),
    Stage.TORN_DOWN: (say("is torn down"), say("pack it for the lab, or inspect it")),
    Stage.AT_LAB: (say("is at the lab"), say("take the cylinder back in when it comes home")),
    Stage.BACK: (say("is back from the lab"), say("compare the new stamp, then inspect it")),
    Stage.INSPECTED: (say("has been inspected"), say("fit its own parts and close the reassembly")),
    Stage.REASSEMBLED: (say("is reassembled"), say("fill it, or call it ready")),
    Stage.FILLED: (say("is filled"), say("call it ready")),
    Stage.READY: (say("is ready"), say("hand it over")),
    Stage.COLLECTED: (say("has been collected"), say("receive it again for a new visit")),
    Stage.REJECTED: (say("is rejected"), say("give the owner the written notice and hand it over")),
    Stage.CONDEMNED: (
        say("is condemned"),
        say("give the owner the written notice and hand it over"),
    ),
    Stage.WITHDRAWN: (say("has been withdrawn by its owner"), say("hand it over")),
}


def check(step: Step, stage: Stage) -> None:
    """Pass when ``step`` may happen at ``stage``; else raise :class:`Refused` with what is next."""
    rule = STEPS[step]
    if stage in rule.allowed_at:
        return
    stands, then = NEXT[stage]
    raise Refused(
        "step_out_of_order",
        say(
            "{rule} is not possible while the cylinder {stands}. Next: {then}.",
            rule=rule.name,
            stands=stands,
            then=then,
        ),
    )
