"""What is asked of a service like this in public lists, and the tests that show it, or why not.

The lists: OWASP Application Security Verification Standard 5.0.0 (levels 1 and 2, and what is worth
doing of level 3), OWASP API Security Top 10 of 2023, W3C TAG finding "Good Practices for Capability
URLs", and what a printed code brings with it (common practice). Each is told in words of our own.
``file::test`` names a test; ``reason`` says what is not done, and why or until when.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Control:
    """One row: tests that show it, a reason why it is not so, or both where it is so in part."""

    mark: str
    says: str
    tests: tuple[str, ...] = ()
    reason: str = ""


_ROUTES = "rights/test_every_route.py::"
_GUESSING = "api/pages/test_guessing.py::"
_DOORS = "api/pages/bench/test_doors.py::"
_SESSIONS = "api/pages/test_sessions.py::"
_STATUS = "api/pages/status/test_page.py::"
_LINKS = "api/test_links.py::"
_KEYS = "api/test_keys.py::"
_RIGHTS = "api/v1/test_rights.py::"
_HOOKS = "api/webhooks/"
_BODIES = "api/v1/test_bad_bodies.py::"
_OWN = "architecture/test_own_rules.py::"
_PHOTOS = "api/pages/bench/test_bad_photos.py"
_HEADERS = f"{_ROUTES}test_every_answer_carries_the_headers_that_close_it"
_COOKIES = f"{_ROUTES}test_every_cookie_is_closed_to_scripts_and_to_other_sites"
_CELLS = f"{_ROUTES}test_each_cell_is_what_the_table_says"
_SECRETS_IN_LOGS = (
    "journeys/test_nothing_secret_is_logged.py::test_no_line_of_the_log_holds_a_secret_or_a_person"
)
_BAG = "faults/test_two_at_once.py::test_each_bag_is_fitted_once_and_every_other_hand_hears_by_whom"

ASVS = (
    Control(
        "V1.3.6",
        "an address to be called is public, https and on its port, when saved and when called",
        (
            f"{_HOOKS}test_addresses.py",
            f"{_HOOKS}test_outbox.py::test_a_name_that_leads_inside_by_now_is_not_called",
        ),
    ),
    Control(
        "V1.3.11",
        "nothing that is typed becomes a header of a mail",
        (
            "api/pages/status/test_found.py::test_what_a_finder_writes_becomes_no_header",
            "api/test_letters.py::test_ready_is_told_and_a_forged_name_gets_into_no_header",
            (
                "cylinders/operations/reminders/test_sweep.py::"
                "test_a_line_break_in_an_address_reaches_no_header"
            ),
        ),
    ),
    Control(
        "V1.2.10",
        "no cell of an export is a formula",
        (
            "api/v1/test_daily_logs.py::test_a_cell_that_begins_like_a_formula_is_defused",
            "api/pages/bench/test_recall.py::test_the_list_leaves_as_csv_without_formulas",
            "cylinders/management/test_recall.py::test_the_export_is_safe_in_a_sheet",
        ),
    ),
    Control("V2.2.3", "figures that go together are judged together", ("rules/judgement",)),
    Control(
        "V2.3.1",
        "no step of the work is skipped, in whatever order it is asked for",
        (
            "model/test_model.py::test_the_service_does_what_the_model_says",
            "api/pages/bench/test_two_people_press_anything.py",
        ),
    ),
    Control(
        "V2.3.3",
        "an operation is done whole or not at all",
        ("faults/test_nth_failure.py", "faults/test_nth_write_and_call.py"),
    ),
    Control("V2.3.4", "what is there once is taken once", (_BAG, "faults/test_isolation.py")),
    Control(
        "V2.3.5",
        "a second person where it is grave",
        ("cylinders/operations/test_second_look.py::test_the_second_person_is_another_person",),
        "For the neck of a cylinder of 6351-T6 alone. To condemn needs one: it can only make "
        "safer, and nothing brings a condemned cylinder back.",
    ),
    Control(
        "V2.4.1",
        "what is done by machines is slowed down",
        (
            "api/pages/test_guessing.py",
            "api/v1/test_http.py::test_each_key_is_throttled_by_itself",
            "api/test_shedding.py",
            "api/pages/status/test_found.py::test_a_shop_that_was_told_often_enough_is_left_in_peace",
        ),
    ),
    Control(
        "V3.3.1-4",
        "cookies are secure, same-site, of this host alone, and closed to scripts",
        (_COOKIES, "api/test_settings.py::test_production_cookies_and_transport_are_closed"),
    ),
    Control(
        "V3.4.1",
        "the browser is told to come by TLS alone, for a year and more",
        ("api/test_settings.py::test_production_cookies_and_transport_are_closed",),
    ),
    Control(
        "V3.4.3",
        "a page runs its own scripts alone, and sends nothing elsewhere",
        (
            "browser/test_policy.py",
            "api/test_middleware.py::test_a_page_runs_no_script_but_its_own",
        ),
    ),
    Control(
        "V3.4.4-6",
        "no sniffing, no address for others, no frames",
        (
            _HEADERS,
            f"{_ROUTES}test_what_lies_behind_a_secret_address_is_kept_out_of_referrers_and_indexes",
        ),
    ),
    Control(
        "V3.5.1",
        "no other site presses a button of ours",
        (
            f"{_DOORS}test_a_post_without_the_page_s_token_is_refused",
            f"{_OWN}test_a_form_without_a_token_is_taken_only_where_it_says_why",
        ),
    ),
    Control(
        "V3.7.2",
        "no answer leads to another site",
        (
            f"{_DOORS}test_signing_in_leads_to_no_other_site",
            f"{_OWN}test_no_answer_leads_where_an_address_says",
            "bad_inputs/test_at_the_surfaces.py::test_bad_codes_in_addresses",
        ),
    ),
    Control(
        "V4.1.3",
        "a header that a proxy would set is not taken from just anybody",
        (
            f"{_GUESSING}test_a_forged_header_makes_nobody_another_address",
            f"{_STATUS}test_a_forged_host_gets_into_no_address",
        ),
    ),
    Control(
        "V5.2.1-2",
        "a file is of the size and kind that it says",
        (_PHOTOS, "api/v1/test_attachments.py", "api/pages/lab/test_papers.py"),
    ),
    Control(
        "V5.2.6",
        "a small file that grows large is refused unread",
        (
            "api/test_photos.py::test_what_would_cost_too_much_is_refused_before_it_is_decoded",
            (
                "api/test_photos.py::"
                "test_the_largest_photos_that_are_taken_stay_under_two_hundred_megabytes"
            ),
        ),
    ),
    Control(
        "V5.3.2, V5.4.1",
        "the service names the files it keeps, and gives papers away as files to save",
        (
            _PHOTOS,
            "api/v1/test_attachments.py::test_a_paper_is_kept_told_listed_and_given_back_to_the_byte",
        ),
    ),
    Control(
        "V5.4.3",
        "uploads are looked through for known malware",
        (),
        "Not done: photos are drawn anew, and papers are never opened by the service, only given "
        "back to those who may see them. Whoever wants a scanner puts it before the service.",
    ),
    Control(
        "V6.3.1",
        "passwords are not guessed",
        (
            f"{_GUESSING}test_wrong_passwords_for_one_name_come_to_an_end",
            f"{_GUESSING}test_one_password_for_many_names_comes_to_an_end",
            f"{_GUESSING}test_the_pin_of_a_locked_phone_is_guessed_as_slowly_as_a_password",
            f"{_DOORS}test_the_sixth_guess_finds_the_door_shut_even_when_it_is_right",
        ),
    ),
    Control(
        "V6.3.2",
        "there is no account that everybody knows",
        ("api/test_settings.py::test_an_unfit_production_is_refused",),
    ),
    Control(
        "V6.3.3",
        "a second factor",
        (),
        "Not done. A phone that several wet hands share opens with a PIN, which is less than the "
        "standard's level 2; owners sign in with a password alone. Put the service behind a "
        "network of your own or a signing-on proxy where that is not enough.",
    ),
    Control(
        "V6.3.8",
        "nobody learns who has an account",
        (
            f"{_GUESSING}test_an_unknown_name_and_a_wrong_password_look_alike",
            f"{_DOORS}test_a_shut_door_and_the_count_tell_no_name",
        ),
    ),
    Control(
        "V6.5.2, V11.5.1",
        "secrets come from a secure source, are long, and are kept as digests",
        (
            f"{_KEYS}test_a_fresh_key_opens_and_its_secret_is_nowhere_in_the_table",
            f"{_KEYS}test_a_secret_has_256_bits_and_none_comes_twice",
            f"{_LINKS}test_a_fresh_link_opens_and_is_kept_as_a_digest_only",
            f"{_LINKS}test_a_token_has_160_bits_and_every_symbol_comes_up",
        ),
    ),
    Control(
        "V7.2.4, V7.4.1-2",
        "a session begins afresh at the door and ends with whoever it was made for",
        ("api/pages/test_sessions.py", "api/pages/lab/test_lab_pages.py"),
    ),
    Control(
        "V8.2.1-3",
        "each role does and sees what is its own: routes, rows and columns",
        (
            _CELLS,
            f"{_ROUTES}test_neither_labs_nor_the_owner_s_page_get_how_somebody_is_reached",
            f"{_RIGHTS}test_the_owner_gets_it_and_another_lab_does_not",
        ),
    ),
    Control(
        "V8.4.1",
        "tenants are apart",
        (
            f"{_RIGHTS}test_the_owner_gets_it_and_another_lab_does_not",
            f"{_RIGHTS}test_anothers_void_and_correction_touch_nothing",
        ),
        "One shop has one service: the tenants are its labs, and the owners behind their links.",
    ),
    Control(
        "V13.3.1, V13.4.2",
        "secrets stand in the environment, and nothing is told to debug by",
        (
            f"{_OWN}test_no_secret_stands_in_the_tree",
            "api/test_environment.py::test_production_refuses_a_missing_short_or_example_key",
            "api/test_settings.py::test_an_unfit_production_is_refused",
        ),
    ),
    Control(
        "V14.2.1, V14.3.2",
        "no secret in an address, and what is personal is kept by no cache",
        (
            f"{_RIGHTS}test_a_key_in_an_address_opens_nothing",
            f"{_ROUTES}test_what_is_personal_is_kept_by_nobody",
        ),
        "A customer's link is a secret in an address on purpose; see the rows of capability URLs.",
    ),
    Control("V14.2.8", "a photo loses its place and its camera", (_PHOTOS,)),
    Control(
        "V15.3.1, V15.3.3",
        "no more is told than is needed, and nothing is set that was not asked for",
        (
            f"{_BODIES}test_every_wrong_place_is_named_at_once",
            "api/v1/test_schema.py",
            f"{_ROUTES}test_no_stranger_gets_a_name_an_address_or_a_word_about_somebody",
        ),
    ),
    Control("V15.4.2", "what is looked at and done is one", (_BAG, "faults/test_isolation.py")),
    Control(
        "V16.2.5, V16.4.1",
        "a log holds no secret, and nobody writes lines of it",
        (_SECRETS_IN_LOGS, "api/test_logs.py::test_a_message_cannot_begin_a_line_of_its_own"),
    ),
    Control(
        "V16.3.2",
        "who was refused is told in the log",
        ("api/test_middleware.py::test_each_request_leaves_one_line_with_status_and_time",),
    ),
    Control(
        "V16.5.1, V16.5.3",
        "a fault tells no detail and opens nothing",
        (
            (
                "api/pages/test_when_nothing_is_there.py::"
                "test_a_fault_of_the_service_stores_nothing_and_tells_no_detail"
            ),
            f"{_ROUTES}test_a_route_that_nobody_entered_is_for_owners_alone",
        ),
    ),
)

API_TOP_TEN = (
    Control(
        "API1",
        "another's object is not found",
        ("api/v1/test_rights.py", "api/v1/test_attachments.py"),
    ),
    Control(
        "API2",
        "a key that is wrong, half, old or revoked opens nothing, anywhere",
        (
            f"{_RIGHTS}test_without_a_live_key_nothing_is_told_by_any_route",
            f"{_RIGHTS}test_a_key_in_an_address_opens_nothing",
            f"{_KEYS}test_whatever_is_not_the_whole_key_is_one_and_the_same_refusal",
        ),
    ),
    Control(
        "API3",
        "a lab reads and sets nothing of an owner, a price or a status",
        (
            f"{_ROUTES}test_neither_labs_nor_the_owner_s_page_get_how_somebody_is_reached",
            f"{_BODIES}test_every_wrong_place_is_named_at_once",
        ),
    ),
    Control(
        "API4",
        "large bodies, deep ones, many at once and endless pages are bounded",
        (
            "api/v1/test_bad_bodies.py",
            "api/v1/test_batches.py::test_a_file_beyond_the_limit_is_not_read",
            "api/v1/test_attachments.py::test_ten_megabytes_are_the_most",
            "api/test_shedding.py",
        ),
    ),
    Control(
        "API5",
        "a lab's key opens no page of the shop, a technician none of the owner's, no other method",
        (
            f"{_RIGHTS}test_a_labs_key_opens_no_page_of_the_shop",
            f"{_ROUTES}test_a_form_for_owners_is_refused_to_a_technician_and_not_to_an_owner",
            f"{_ROUTES}test_other_methods_do_nothing_anywhere",
        ),
    ),
    Control(
        "API6",
        "links, mails and look-ups are not had in masses",
        (
            "api/pages/status/test_found.py::test_a_shop_that_was_told_often_enough_is_left_in_peace",
            f"{_GUESSING}test_guessed_tags_all_look_alike",
            "api/pages/bench/test_owner_links.py::test_a_double_tap_makes_one_link_and_says_so",
        ),
    ),
    Control(
        "API7",
        "the service calls nothing inside",
        (f"{_HOOKS}test_calling.py", f"{_HOOKS}test_addresses.py"),
    ),
    Control(
        "API8",
        "headers, faults, methods and caches are set on every route",
        (_HEADERS, f"{_ROUTES}test_other_methods_do_nothing_anywhere"),
    ),
    Control(
        "API9",
        "what is served is what is described",
        (
            (
                "api/v1/test_schema.py::"
                "test_every_route_is_in_the_schema_with_its_methods_and_nothing_else_is"
            ),
        ),
    ),
    Control(
        "API10",
        "answers of others are hostile until they are read",
        (
            f"{_HOOKS}test_calling.py::test_an_endless_answer_is_read_a_little",
            f"{_HOOKS}test_calling.py::test_anything_but_2xx_is_not_taken_and_no_redirect_is_followed",
            f"{_BODIES}test_hostile_text_is_kept_as_text",
        ),
    ),
)

SECRET_LINKS = (
    Control(
        "C1",
        "by TLS alone",
        ("api/test_settings.py::test_production_cookies_and_transport_are_closed",),
    ),
    Control(
        "C2",
        "128 bits and more, from a secure source",
        (f"{_LINKS}test_a_token_has_160_bits_and_every_symbol_comes_up",),
    ),
    Control(
        "C3", "it ends at its second", (f"{_LINKS}test_a_link_ends_at_its_second_and_not_before",)
    ),
    Control(
        "C4",
        "one is ended and the others go on",
        (f"{_LINKS}test_one_link_is_revoked_and_the_others_go_on",),
    ),
    Control(
        "C5",
        "its page asks nobody else and tells nobody its address",
        (
            (
                "browser/test_customer_pages.py::"
                "test_the_owners_page_asks_nobody_else_and_tells_nobody_its_address"
            ),
            f"{_STATUS}test_the_page_is_kept_out_of_caches_referrers_frames_and_search_engines",
        ),
    ),
    Control(
        "C6",
        "who tries is slowed down, and who has one is not",
        (f"{_STATUS}test_who_tries_tokens_is_slowed_down_and_who_has_one_is_not",),
    ),
    Control(
        "C7",
        "to look changes nothing: to decline is a button",
        ("api/pages/status/test_decline.py",),
    ),
    Control(
        "C8",
        "one that ended is gone, one that never was is not found, and none is given twice",
        (f"{_STATUS}test_a_link_that_ended_is_gone_and_one_that_never_was_is_not_found",),
    ),
    Control(
        "C9",
        "its token stands in no log",
        (f"{_STATUS}test_the_token_is_in_no_line_of_the_logs", _SECRETS_IN_LOGS),
    ),
    Control(
        "C10",
        "its page names nobody and nothing of anybody else",
        (f"{_STATUS}test_the_page_names_nobody_and_nobody_else_s_cylinder",),
    ),
    Control(
        "C11",
        "a new owner ends the links of the old one",
        (f"{_LINKS}test_changing_the_owner_at_the_edge_revokes_every_link_for_good",),
    ),
    Control(
        "C12",
        "what was ended stays ended after an older copy came back",
        (
            (
                "faults/test_drill.py::"
                "test_an_older_copy_comes_back_whole_silent_and_without_who_was_erased"
            ),
            "api/backups/test_since.py",
        ),
    ),
    Control(
        "C13",
        "whatever else is done to an address of a link",
        ("api/pages/status/test_every_way_to_a_link.py",),
    ),
)

PRINTED_CODES = (
    Control(
        "Q1",
        "a false code imitates nothing: a page behind a tag asks for no password and no money",
        ("api/pages/status/test_public.py::test_it_never_asks_for_a_password_or_money",),
    ),
    Control(
        "Q2",
        "what is no tag of ours is shown as text and never followed",
        (
            "api/pages/status/test_public.py::test_foreign_text_is_shown_and_never_linked",
            "browser/test_camera.py::test_a_text_that_is_not_ours_is_shown_and_never_followed",
            "bad_inputs/test_at_the_surfaces.py::test_bad_codes_for_strangers_and_for_staff",
        ),
    ),
    Control(
        "Q3",
        "two tags that were exchanged are noticed by the stamp",
        ("journeys/test_technician_takes_a_cylinder_through.py",),
        "The marks are compared when parts come off and when they go back; nobody is reminded to "
        "check a sample of tags each month.",
    ),
    Control(
        "Q4",
        "a copied code proves nothing",
        (_CELLS,),
        "A scan opens a page and is never taken as proof that the cylinder is there. A tag that is "
        "seen at two places in an hour raises no alarm: places are not kept.",
    ),
    Control(
        "Q5",
        "codes are not guessed",
        (
            f"{_GUESSING}test_guessed_tags_all_look_alike",
            f"{_GUESSING}test_a_household_is_one_address_whichever_of_its_own_it_takes",
        ),
    ),
    Control(
        "Q6", "no owner, place or stock for whoever scans", ("api/test_no_owner_in_public.py",)
    ),
    Control(
        "Q7",
        "a code of thousands of signs is refused unread",
        ("bad_inputs/test_at_the_surfaces.py::test_bad_codes_in_addresses",),
    ),
    Control(
        "Q8",
        "the camera is for pages that scan, and there is a way without",
        (
            "api/test_middleware.py::test_a_page_that_scans_may_use_the_camera_and_nothing_more",
            "browser/test_camera.py::test_a_photo_is_read_without_any_script",
        ),
    ),
    Control(
        "Q9",
        "one code is given once, for ever",
        ("labels/test_runs.py::test_the_database_refuses_to_delete_a_code_or_to_change_it",),
    ),
)

OTHERS = (
    Control(
        "O1",
        "limits open for scans when the cache is away, and shut for passwords",
        ("faults/test_cache_away.py",),
    ),
    Control("O2", "a phone that lies about locks itself", ("api/pages/bench/test_lock.py",)),
    Control(
        "O3",
        "who looked at whom is noted, and the person may read it",
        (
            "api/pages/status/test_person.py",
            "api/pages/bench/test_photos.py::test_who_looked_at_photos_is_noted",
        ),
    ),
    Control(
        "O4",
        "the demo touches no real database and is no production",
        (
            "api/demo/test_demo_worlds.py::test_a_database_of_a_real_shop_is_left_alone",
            "api/test_settings.py::test_an_unfit_production_is_refused",
        ),
    ),
    Control(
        "O5",
        "what is installed is looked up for known holes",
        ("audit/test_audit.py",),
        "`python -m tests.audit` fails where a package could not be looked up; it is run where the "
        "list of holes can be reached.",
    ),
    Control(
        "O6",
        "calls to others are signed, bounded and stopped",
        (f"{_HOOKS}test_outbox.py", f"{_HOOKS}test_calling.py"),
    ),
    Control(
        "O7",
        "no dangerous call, no shell, no statement out of text",
        (
            f"{_OWN}test_nobody_calls_what_is_dangerous",
            f"{_OWN}test_no_process_is_started_through_a_shell",
            f"{_OWN}test_statements_are_built_from_constants_alone",
        ),
    ),
    Control(
        "O8",
        "requests that no browser sends are turned away whole",
        ("faults/test_strange_requests.py",),
    ),
)

LISTS = {
    "OWASP ASVS 5.0.0": ASVS,
    "OWASP API Security Top 10, 2023": API_TOP_TEN,
    "W3C TAG, capability URLs": SECRET_LINKS,
    "printed codes, common practice": PRINTED_CODES,
    "others, common practice": OTHERS,
}
