from dataclasses import FrozenInstanceError

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cylinders.rules.threads import LOOK_ALIKES, THREADS, read, same_thread
from cylinders.rules.verdict import Certainty, Outcome

NAMES = [thread.name for thread in THREADS]
WRITTEN = {
    "M25x2": "M25x2",
    "M 25 x 2": "M25x2",
    "m25X2": "M25x2",
    "M25*2": "M25x2",
    "M25\u00d72": "M25x2",
    "M25\u27152": "M25x2",
    "M25x2.0": "M25x2",
    "M25x2,0": "M25x2",
    "M25x2mm": "M25x2",
    "\uff2d\uff12\uff15\uff58\uff12": "M25x2",
    "25P": "M25x2",
    "M18x1.5": "M18x1.5",
    "M18 \u00d7 1,5": "M18x1.5",
    "3/4-14 NPSM": "3/4-14 NPSM",
    "3/4 NPSM": "3/4-14 NPSM",
    '3/4" NPSM': "3/4-14 NPSM",
    '3/4"-14 NPSM': "3/4-14 NPSM",
    "3/4\u201d-14 NPSM": "3/4-14 NPSM",
    "\u201c3/4\u201d 14 npsm": "3/4-14 NPSM",
    "3/4\u2033 NPSM": "3/4-14 NPSM",
    "3/4'' NPSM": "3/4-14 NPSM",
    "3/4\u00b4\u00b4 NPSM": "3/4-14 NPSM",
    "3/4\uff02 NPSM": "3/4-14 NPSM",
    "3/4 in. NPSM": "3/4-14 NPSM",
    "3/4in-14TPI NPSM": "3/4-14 NPSM",
    "3/4 inch NPSM": "3/4-14 NPSM",
    "\u00be NPSM": "3/4-14 NPSM",
    "\u00be\u2011 14 NPSM": "3/4-14 NPSM",
    "3\u20444 \u2212 14 \u2013 NPSM": "3/4-14 NPSM",
    "1/2-14 NPSM": "1/2-14 NPSM",
    "\u00bd NPSM": "1/2-14 NPSM",
    "3/4-14 NGS": "3/4-14 NGS",
    "3/4-14NGT": "3/4-14 NGT",
    "1/2 NGT": "1/2-14 NGT",
    "7/8-14 UNF": "7/8-14 UNF",
    "7/8 UNF": "7/8-14 UNF",
    "\u215e-14 UNF": "7/8-14 UNF",
    "G3/4": "G3/4",
    "G 3/4": "G3/4",
    "3/4 bspp": "G3/4",
    "3/4-BSPP": "G3/4",
    "25E": "25E",
    "17e": "17E",
}
NO_THREAD = [
    *("", "   ", "M25", "25", "3/4", "3/4-14", "NPSM", "3/4-16 NPSM", "1/4 NPSM", "M25x1.5"),
    *("M25x20", "M26x2", "7/8-16 UNF", "G1/2", "18P", "M25\u04452", "M2\u0665x2", "\u0660M25x2"),
    *(
        "M25x2x",
        "xM25x2",
        "3/4 pin NPSM",
        "3/4 inn NPSM",
        "M2\u2075x2",
        "M25\u00b2x2",
        "M25x\u00bd",
    ),
    *("M25x2 or 3/4 NPSM", "unknown", "25EE", "M\u2461\u2464x2", "3/4 BSP", "3/4 BSPT"),
    "M25x2" + " " * 40,
]


@pytest.mark.parametrize(("written", "name"), WRITTEN.items())
def test_a_designation_is_read_in_every_usual_spelling(written: str, name: str) -> None:
    thread = read(written)
    assert thread is not None
    assert thread.name == name


@pytest.mark.parametrize("written", NO_THREAD)
def test_what_names_no_thread_for_sure_is_not_read(written: str) -> None:
    assert read(written) is None


def test_forty_characters_are_read_and_one_more_is_not() -> None:
    assert read("M25x2".ljust(40)) is not None
    assert read("M25x2".ljust(41)) is None


@pytest.mark.parametrize("name", NAMES)
def test_each_thread_is_the_same_as_itself(name: str) -> None:
    finding = same_thread(name, name.lower())
    assert (finding.code, finding.outcome) == ("thread_same", Outcome.OK)
    assert finding.says == f"Neck and valve are both {name}."
    assert finding.cites.certainty is Certainty.FROM_MEMORY


@given(st.sampled_from(NAMES), st.sampled_from(NAMES))
@settings(max_examples=200)
def test_whether_two_threads_are_the_same_does_not_hang_on_which_is_the_neck(
    one: str, other: str
) -> None:
    there, back = same_thread(one, other), same_thread(other, one)
    assert there.code == back.code
    assert there.outcome is back.outcome
    assert (there.outcome is Outcome.OK) == (one == other)


@pytest.mark.parametrize("look_alike", LOOK_ALIKES, ids=lambda pair: " ".join(sorted(pair.pair)))
def test_a_look_alike_is_refused_with_what_would_happen(look_alike: object) -> None:
    pair = next(row for row in LOOK_ALIKES if row is look_alike)
    neck, valve = sorted(pair.pair)
    finding = same_thread(neck, valve)
    assert finding.code == "thread_look_alike"
    assert finding.outcome is Outcome.FAIL
    assert finding.says == f"STOP: neck {neck}, valve {valve}. Do not fit it: {pair.danger}."
    assert finding.cites == pair.cites


def test_every_look_alike_is_a_pair_of_threads_of_the_table() -> None:
    for row in LOOK_ALIKES:
        assert len(row.pair) == 2
        assert row.pair <= set(NAMES)


def test_an_m25_valve_in_an_npsm_neck_is_stopped_with_the_danger() -> None:
    says = same_thread("3/4-14 NPSM", "M25x2").says
    assert says.startswith("STOP: neck 3/4-14 NPSM, valve M25x2. Do not fit it")
    assert "blown out" in says


def test_two_threads_that_nobody_confuses_are_refused_all_the_same() -> None:
    finding = same_thread("7/8-14 UNF", "M18x1.5")
    assert (finding.code, finding.outcome) == ("thread_other", Outcome.FAIL)
    assert finding.says == (
        "STOP: neck 7/8-14 UNF, valve M18x1.5. Do not fit it: these are not one thread."
    )


@pytest.mark.parametrize(
    ("neck", "valve", "named"),
    [
        ("M25", "M25x2", "neck thread 'M25'"),
        ("M25x2", "M25", "valve thread 'M25'"),
        ("M25", "M25", "neck thread 'M25'"),
        ("", "M25x2", "neck thread 'not given'"),
        ("M25x2", "  ", "valve thread 'not given'"),
        ("?" * 60, "M25x2", "neck thread '" + "?" * 40 + "'"),
    ],
)
def test_a_thread_that_is_not_known_is_refused_by_name(neck: str, valve: str, named: str) -> None:
    finding = same_thread(neck, valve)
    assert (finding.code, finding.outcome) == ("thread_unknown", Outcome.UNKNOWN)
    assert finding.says == (
        f"STOP: {named} is not one we know. Measure it with a thread gauge and enter it in full, "
        "such as M25x2 or 3/4-14 NPSM."
    )
    assert not finding.passed


@given(st.text(max_size=60), st.text(max_size=60))
@settings(max_examples=200)
def test_no_text_crashes_the_comparison_or_passes_unread(neck: str, valve: str) -> None:
    finding = same_thread(neck, valve)
    assert finding.passed == (read(neck) is not None and read(neck) == read(valve))


def test_each_thread_names_its_standard() -> None:
    standards = {thread.name: str(thread.cites) for thread in THREADS}
    assert standards == {
        "M25x2": "ISO 15245-1 [from memory]",
        "M18x1.5": "ISO 15245-1 [from memory]",
        "3/4-14 NPSM": "ASME B1.20.1 [from memory]",
        "1/2-14 NPSM": "ASME B1.20.1 [from memory]",
        "3/4-14 NGS": "CGA V-1 [from memory]",
        "3/4-14 NGT": "CGA V-1 [from memory]",
        "1/2-14 NGT": "CGA V-1 [from memory]",
        "7/8-14 UNF": "ASME B1.1 [from memory]",
        "G3/4": "ISO 228-1 [from memory]",
        "25E": "ISO 11363-1 [from memory]",
        "17E": "ISO 11363-1 [from memory]",
    }


M25_STARTS = (
    "an M25 valve starts in this neck and binds after a few turns; forced home it seems tight, "
    "survives some fills and is then blown out"
)


ARTICLE = (
    "diver-safety body, article on valves and cylinder outlets that do not match (2023) "
    "[second-hand]"
)
AUTHORITY = (
    "national safety authority (UK), page on mismatched cylinder and valve threads [second-hand]"
)
LOOSE = (
    "same size and pitch, other diameters: it screws in loose or binds, and the flanks do not "
    "carry the load"
)
OTHER_FLANKS = (
    "same pitch, other flank angle and diameter: it screws in, but the flanks do not carry the load"
)


@pytest.mark.parametrize(
    ("neck", "valve", "danger", "source"),
    [
        ("3/4-14 NPSM", "M25x2", M25_STARTS, ARTICLE),
        ("G3/4", "M25x2", M25_STARTS, AUTHORITY),
        ("3/4-14 NGS", "M25x2", M25_STARTS, "by analogy with 3/4-14 NPSM [from memory]"),
        ("3/4-14 NPSM", "3/4-14 NGS", LOOSE, "CGA V-1 [from memory]"),
        ("3/4-14 NPSM", "G3/4", OTHER_FLANKS, "ASME B1.20.1 [from memory]"),
        (
            "1/2-14 NPSM",
            "M18x1.5",
            "the thinner valve drops into the wider neck and holds by the tips of its threads",
            "ASME B1.20.1 [from memory]",
        ),
        (
            "25E",
            "M25x2",
            "25E is a taper: a straight valve bears on a turn or two of it only",
            "ISO 11363-1 [from memory]",
        ),
    ],
)
def test_the_danger_of_each_look_alike_is_said_with_its_source(
    neck: str, valve: str, danger: str, source: str
) -> None:
    finding = same_thread(neck, valve)
    assert finding.says.endswith(f"Do not fit it: {danger}.")
    assert str(finding.cites) == source


def test_the_rule_of_one_designation_is_common_practice() -> None:
    practice = "neck and valve carry one designation [common practice]"
    assert str(same_thread("7/8-14 UNF", "M18x1.5").cites) == practice
    assert str(same_thread("M25", "M18x1.5").cites) == practice


def test_a_row_of_the_table_cannot_be_changed() -> None:
    for row in (*THREADS, *LOOK_ALIKES):
        with pytest.raises(FrozenInstanceError):
            setattr(row, "cites", None)  # noqa: B010 - a plain assignment would not type-check


def test_only_the_tapered_threads_are_marked_as_tapers() -> None:
    tapers = {thread.name for thread in THREADS if thread.taper}
    assert tapers == {"3/4-14 NGT", "1/2-14 NGT", "25E", "17E"}
