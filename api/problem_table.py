"""Each kind of problem that a lab's program can meet: one row, one page, one stable code.

A code is never taken out or given another meaning: a lab's program may turn on it.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ProblemType:
    """One row: code, HTTP status, title, what it means and what the lab can do about it."""

    code: str
    status: int
    title: str
    means: str
    do: str


TABLE = (
    ProblemType(
        "malformed_json",
        400,
        "The body is not JSON that can be trusted",
        "The text is empty, cut short or not UTF-8; or a name stands twice in one object, a number "
        "is NaN, infinite or longer than any instrument can show, or it is nested too deep.",
        "Send one JSON object in UTF-8. Send the same text again only after mending it.",
    ),
    ProblemType(
        "invalid_body",
        400,
        "The body does not have the shape that was agreed",
        "A field is missing, unknown, of another type, or has a value that no record can have. "
        "`errors` names each place by its JSON Pointer. Nothing was stored.",
        "Compare each place with the schema at /api/v1/schema and send the record again.",
    ),
    ProblemType(
        "invalid_query",
        400,
        "The query cannot be used",
        "A parameter in the address is unknown, stands twice or has a value out of its range. A "
        "key never belongs in an address.",
        "Follow the `next` address of the answer before, or leave the parameter out.",
    ),
    ProblemType(
        "idempotency_key_missing",
        400,
        "The header Idempotency-Key is missing",
        "Without it nobody can tell a repeated post from a second record.",
        "Make a fresh random key for each record and send the same key with each retry.",
    ),
    ProblemType(
        "idempotency_key_malformed",
        400,
        "The header Idempotency-Key cannot be read",
        "It is empty, longer than 255 symbols, not plain ASCII, or stands in the request twice.",
        'Send one key, such as "9f0c2a51-7c1e-4d2b-9f43-0b6f0a6d2a11", with or without quotes.',
    ),
    ProblemType(
        "not_authenticated",
        401,
        "No key was sent",
        "The request has no header `Authorization: Bearer <key>`.",
        "Send the key that the shop gave you in that header, and nowhere else.",
    ),
    ProblemType(
        "wrong_key",
        401,
        "The key is not known",
        "The text after `Bearer` is no whole key of this service.",
        "Copy it whole: eight symbols, a dot, 43 symbols. If it is lost, ask the shop for another.",
    ),
    ProblemType(
        "key_revoked",
        401,
        "The key was revoked",
        "The shop has ended this key.",
        "Use your other key, or ask the shop for a new one.",
    ),
    ProblemType(
        "key_expired",
        401,
        "The key has run out",
        "Each key has a last day.",
        "Ask the shop for a new one; two keys may be live at once, so that you can change over.",
    ),
    ProblemType(
        "scope_missing",
        403,
        "The key may not be used for this",
        "The key was made for other things; the answer names the scope that is missing.",
        "Use a key with that scope, or ask the shop for one.",
    ),
    ProblemType(
        "not_found",
        404,
        "There is no such thing for you",
        "The address or the reference is unknown, or belongs to another lab.",
        "Check the address against /api/v1/schema and the reference against your own list.",
    ),
    ProblemType(
        "cylinder_not_found",
        404,
        "No such cylinder is in your hands",
        "The tag or the stamped marks name no cylinder that was sent to you and has not gone home.",
        "Compare with GET /api/v1/cylinders. If you hold the cylinder, ask the shop to send it on "
        "paper too: its consignment may not have been closed.",
    ),
    ProblemType(
        "method_not_allowed",
        405,
        "The address does not know that method",
        "The header `Allow` names those that it knows.",
        "Use one of them.",
    ),
    ProblemType(
        "not_acceptable",
        406,
        "The answer exists as JSON only",
        "The header `Accept` leaves out application/json.",
        "Send `Accept: application/json`, or leave the header out.",
    ),
    ProblemType(
        "cylinder_ambiguous",
        409,
        "The marks fit more than one cylinder",
        "Two cylinders in your hands bear these marks. The service never chooses for you.",
        "Send the code on the tag instead.",
    ),
    ProblemType(
        "tag_retired",
        409,
        "That tag no longer stands for the cylinder",
        "The tag was replaced; the cylinder carries a newer one.",
        "Send the code on the newer tag.",
    ),
    ProblemType(
        "other_cylinder",
        409,
        "The correction is of another cylinder",
        "A correction and the record that it corrects are of one cylinder.",
        "Void the wrong record, and send the test of the other cylinder as a record of its own.",
    ),
    ProblemType(
        "already_corrected",
        409,
        "That record has been corrected already",
        "A record has one correction; that one may be corrected in its turn.",
        "Post your correction under the address of the latest one.",
    ),
    ProblemType(
        "corrects_itself",
        409,
        "A correction cannot have the reference of what it corrects",
        "Each record, a correction too, is named by a reference of its own.",
        "Choose a fresh `lab_reference` for the correction.",
    ),
    ProblemType(
        "void_needs_person",
        409,
        "That record is not yours to take back",
        "It condemned or rejected a cylinder. Only a person at the shop may undo that.",
        "Tell the shop. A correction of a rejection waits for a person there; a condemned cylinder "
        "stays condemned, whatever was mistyped.",
    ),
    ProblemType(
        "not_at_lab",
        409,
        "The cylinder is not at your lab",
        "It went home, or its visit has ended.",
        "Ask the shop; a record can be taken while the cylinder is in your hands.",
    ),
    ProblemType(
        "reference_used",
        409,
        "That reference belongs to another record",
        "Each `lab_reference` names one record for ever, and this one came with another body.",
        "Choose a fresh reference. To change what was sent, post a correction of that record.",
    ),
    ProblemType(
        "tested_in_future",
        409,
        "The day of the test has not come yet",
        "The record bears a date more than one day ahead of the shop's.",
        "Check the date of the test and the clock of the computer that wrote it.",
    ),
    ProblemType(
        "unreadable_file",
        409,
        "The file cannot be read as agreed",
        "Its encoding, its delimiter or its headings are not those of the mapping, it is no CSV, "
        "NDJSON or XML, or it is empty. Nothing was stored.",
        "Do what `detail` says: save a mapping that fits, or send the file as the mapping expects.",
    ),
    ProblemType(
        "request_in_flight",
        409,
        "The first post with that key is still being worked on",
        "The same Idempotency-Key arrived again before the first answer was ready.",
        "Wait for the seconds in `Retry-After`, then send the same request again.",
    ),
    ProblemType(
        "refused",
        409,
        "The record cannot be taken now",
        "The service knows something that stands against it; `detail` and `code` say what.",
        "Do what `detail` says. Nothing was stored, so the same Idempotency-Key may be used again.",
    ),
    ProblemType(
        "webhook_refused",
        409,
        "That address cannot be registered",
        "It is called already, or you have as many addresses as one lab may have.",
        "Read /api/v1/webhooks; stop an address that is no longer needed.",
    ),
    ProblemType(
        "record_changed",
        412,
        "The record is not what you think",
        "The header `If-Match` names the record as it was before something changed it.",
        "Read the record again, then decide whether your change still holds.",
    ),
    ProblemType(
        "too_many_attachments",
        409,
        "The record has as many attachments as it may have",
        "A record has at most 20 papers; this one would be another.",
        "Put several pages into one PDF.",
    ),
    ProblemType(
        "file_lost",
        410,
        "The file is no longer here",
        "The attachment was taken, but its bytes are missing from the store, or were altered.",
        "Send the same bytes again; tell the shop.",
    ),
    ProblemType(
        "file_refused",
        422,
        "The file is not kept",
        "Its bytes are no PDF, JPEG or PNG, or damaged; or it is a PDF that is locked, that runs a "
        "script, starts a program or carries another file. Nothing was stored.",
        "Do what `detail` says: print the paper to a new PDF, or send a JPEG of it.",
    ),
    ProblemType(
        "body_too_large",
        413,
        "The body is too large",
        "A body has an upper limit, far above any real one; `detail` names it.",
        "Send less, or in pieces.",
    ),
    ProblemType(
        "unsupported_media_type",
        415,
        "The body has a type that is not read here",
        "The header `Content-Type` is missing or names another type, another character set than "
        "UTF-8, or the body is compressed.",
        "Send `Content-Type: application/json` (of an attachment: the type that its bytes are) and "
        "no `Content-Encoding`.",
    ),
    ProblemType(
        "idempotency_key_reused",
        422,
        "That Idempotency-Key came with another body before",
        "A key names one request. Its first body was stored and answered.",
        "Make a fresh key for a new record; repeat the first body to get the first answer again.",
    ),
    ProblemType(
        "throttled",
        429,
        "Too many requests",
        "The key has asked more often than one lab needs to.",
        "Wait for the seconds in `Retry-After`.",
    ),
    ProblemType(
        "internal",
        500,
        "The service failed",
        "A fault of ours. Nothing was stored; the fault was logged under the request's id.",
        "Send the same request with the same Idempotency-Key again later, and tell the shop.",
    ),
    ProblemType(
        "busy",
        503,
        "The service is busy",
        "Others are writing at this moment. Nothing was stored.",
        "Wait for the seconds in `Retry-After`, then send the same request again.",
    ),
)
