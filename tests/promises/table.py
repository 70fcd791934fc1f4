"""What the service promises for years, the figure that is wanted, and the tests that show it.

``file::test`` names a test; a test of full size is marked `long`. ``remark`` says what a figure
leaves out. ``python3 manage.py test --long`` prints the table with what came of each in that run.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Promise:
    """One row."""

    mark: str
    says: str
    wanted: str
    tests: tuple[str, ...]
    remark: str = ""


_SURVIVE = "faults/test_reminders_survive.py::"
_IDEMPOTENT = "api/v1/test_idempotency.py::"
_GUARDS = "faults/test_guards_hold.py::"
_WORKERS = (
    "faults/test_workers_survive.py::test_workers_beats_and_queue_die_and_every_owner_is_told_once"
)
_TWO = "faults/test_two_at_once.py::test_each_bag_is_fitted_once_and_every_other_hand_hears_by_whom"
_RESTORED = (
    "faults/test_drill.py::test_an_older_copy_comes_back_whole_silent_and_without_who_was_erased"
)

TABLE = (
    Promise(
        "R1",
        "no due reminder is lost",
        "0 of 2,000 lost through 200 kills",
        (
            "faults/test_storm.py::test_two_thousand_owners_are_told_once_through_two_hundred_kills",
            _WORKERS,
        ),
    ),
    Promise(
        "R2",
        "no reminder reaches a receiver that folds equal ids twice",
        "0 distinct twice",
        (
            "faults/test_storm.py::test_two_thousand_owners_are_told_once_through_two_hundred_kills",
            f"{_SURVIVE}test_nothing_is_lost_and_nothing_told_twice_when_sweeps_are_killed",
        ),
        "A mail server that folds nothing may get one again, and the history says so.",
    ),
    Promise(
        "R3",
        "two beats and three planners change nothing",
        "each row once",
        (
            f"{_SURVIVE}test_three_planners_at_once_plan_each_row_once",
            f"{_SURVIVE}test_three_sweeps_at_once_send_each_message_once",
        ),
    ),
    Promise(
        "R4",
        "changes of the clock do nothing odd",
        "366 days in six zones, each notice once and in hours",
        ("cylinders/operations/reminders/test_a_year_of_days.py",),
    ),
    Promise(
        "R5",
        "nothing is sent after the duty is done",
        "0 in 1,000 races",
        (f"{_SURVIVE}test_in_a_thousand_races_nothing_is_sent_after_it_was_done",),
    ),
    Promise(
        "R6",
        "a worker that slept past its lease marks nothing",
        "0 late marks",
        (
            f"{_SURVIVE}test_a_sweep_that_slept_past_its_lease_marks_nothing",
            f"{_SURVIVE}test_a_worker_that_was_stopped_past_its_lease_marks_nothing",
        ),
    ),
    Promise(
        "L1",
        "a post that is sent many times is stored once",
        "50 threads, 1 row, equal bytes; also through 100 kills before the reply on each engine",
        (
            f"{_IDEMPOTENT}test_fifty_threads_with_one_key_store_one_record_and_hear_the_same",
            "faults/test_killed_before_the_reply.py",
        ),
    ),
    Promise(
        "L2",
        "another body under a used key is refused",
        "100 of 100",
        (f"{_IDEMPOTENT}test_a_hundred_bodies_that_differ_in_one_place_are_refused",),
    ),
    Promise(
        "L3",
        "without a key the lab's own reference holds",
        "1 row, 200",
        (f"{_IDEMPOTENT}test_threads_with_keys_of_their_own_store_one_record_too",),
    ),
    Promise(
        "L4",
        "any order of arrival ends alike",
        "2,000 of the orders of eight posts, and every order of thirteen stories",
        (
            "cylinders/operations/test_eight_posts.py::test_two_thousand_orders_of_eight_posts_end_alike",
            "cylinders/operations/test_amendment.py::test_every_order_of_arrival_ends_the_same",
        ),
    ),
    Promise(
        "L5",
        "a file that is bad in part loses no good line",
        "493 of 500 stored, 7 named, again after a kill",
        ("api/v1/test_batches.py", "faults/test_lab_file_killed.py"),
    ),
    Promise(
        "L6",
        "a result for another cylinder is held",
        "0 of 254 mismatches attached",
        ("api/test_another_cylinders_result.py", "api/v1/test_records.py"),
    ),
    Promise(
        "S1",
        "of two who scan one bag one wins",
        "1,000 fitted, 7,000 told by whom",
        (
            _TWO,
            "faults/test_isolation.py::test_the_second_of_two_waits_and_changes_nothing",
        ),
    ),
    Promise(
        "S2",
        "a wrong part is refused, and the refusal kept",
        "every one",
        (
            "cylinders/operations/test_fitting.py",
            "labels/test_codes.py::test_every_single_wrong_symbol_at_every_place_is_caught",
            "labels/test_codes.py::test_every_swap_of_two_neighbours_is_caught",
        ),
    ),
    Promise(
        "S4",
        "a phone without a network replays safely",
        "as once, or told",
        ("browser/test_weak_network.py",),
    ),
    Promise(
        "T1",
        "a code is given once",
        "0 doubles",
        (
            "labels/test_codes.py::test_the_secure_source_gives_codes_that_do_not_repeat",
            "labels/test_runs.py::test_the_database_refuses_to_delete_a_code_or_to_change_it",
        ),
    ),
    Promise(
        "T4",
        "two cylinders of one serial never merge",
        "0 merges",
        ("api/pages/bench/test_intake.py",),
    ),
    Promise(
        "H1",
        "the history takes no change",
        "every change refused, on both engines",
        ("cylinders/test_history.py", f"{_GUARDS}test_two_events_at_one_place_are_refused"),
    ),
    Promise(
        "H2",
        "what somebody with every right altered is found",
        "10,000 of 10,000; a cut tail and a rewritten log too",
        (
            "faults/test_alterations.py::test_random_alterations_are_all_found",
            "api/test_checkpoints.py",
        ),
    ),
    Promise(
        "H3",
        "the history can be checked without this service",
        "one file, no Django",
        ("cylinders/test_chain.py", "published/test_rfc_6962_merkle_tree.py"),
    ),
    Promise(
        "H4",
        "a person is erased and every chain stays whole",
        "0 traces",
        ("cylinders/operations/test_privacy.py",),
    ),
    Promise(
        "B1",
        "a backup restores",
        "all counts and heads equal, 100,000 events",
        (_RESTORED,),
    ),
    Promise(
        "B2",
        "a copy taken under load is whole",
        "200 of 200",
        ("faults/test_copies_under_load.py",),
    ),
    Promise(
        "B3",
        "a move keeps every row",
        "0 differences, 100,000 events",
        ("faults/test_drill.py::test_a_shop_moves_from_sqlite_to_postgresql_row_by_row",),
    ),
    Promise(
        "B4",
        "a restored copy sends nothing",
        "0 before it is armed",
        ("faults/test_drill.py", "faults/test_half_restored.py"),
    ),
    Promise(
        "P1",
        "a crash in a run of labels confuses nobody",
        "no code twice on paper at any of 200 places",
        ("labels/test_runs.py::test_a_stop_at_each_of_200_labels_prints_no_code_twice",),
    ),
    Promise(
        "D1",
        "what was acknowledged survives a kill",
        "0 missing through 20 kills of each",
        ("faults/test_killed_under_load.py",),
        "A power cut is not a kill: the disk's own promise is trusted there.",
    ),
    Promise(
        "D2",
        "a full or read-only disk refuses plainly",
        "0 half stored",
        ("faults/test_disk_and_lines.py", "faults/test_nth_failure.py"),
    ),
    Promise(
        "D3",
        "without the broker the shop goes on",
        "every scan",
        (
            "faults/test_disk_and_lines.py::test_without_the_broker_the_bench_goes_on",
            "faults/test_cache_away.py",
        ),
    ),
    Promise(
        "D4",
        "a lost connection costs one request",
        "at most one each, none acknowledged and lost",
        ("faults/test_disk_and_lines.py::test_a_session_that_is_cut_costs_one_request_at_most",),
    ),
    Promise(
        "A1",
        "a stranger learns nothing of an owner",
        "0 canaries at every address",
        ("api/test_no_owner_in_public.py",),
    ),
    Promise(
        "A2",
        "each sees and writes only what is theirs",
        "every route for every role",
        ("rights/test_every_route.py", "api/v1/test_rights.py"),
    ),
    Promise(
        "A3",
        "guessing does not pay",
        "404 or 429",
        ("api/pages/test_guessing.py", "api/test_links.py"),
    ),
    Promise(
        "A5",
        "a key read from the database opens nothing",
        "digests only",
        ("api/test_keys.py",),
    ),
    Promise(
        "A6",
        "a webhook cannot reach the inside",
        "0 calls",
        ("api/webhooks/test_addresses.py", "api/webhooks/test_calling.py"),
    ),
    Promise(
        "A7",
        "a photo cannot kill or infect",
        "42 of 42",
        ("api/pages/bench/test_bad_photos.py",),
    ),
    Promise(
        "A9",
        "every answer carries its headers",
        "every route",
        ("rights/test_every_route.py", "api/test_middleware.py"),
    ),
    Promise(
        "A11",
        "the interface never answers 500",
        "0 of all generated requests, in the process and on a socket",
        ("api/v1/test_schema.py", "faults/test_schema_on_a_socket.py"),
    ),
    Promise(
        "W1",
        "the whole service is equal to its model",
        "200 examples of 30 steps; 2,000 of 50 by a command",
        ("model/test_model.py::test_the_service_does_what_the_model_says",),
        "The command is `python -m tests.model --examples 2000 --steps 50`.",
    ),
    Promise(
        "W2",
        "a broken guard is noticed",
        "10 of 10 and more",
        ("faults/test_broken_guards.py",),
        "All of them by `python -m tests.faults.guards`.",
    ),
)
