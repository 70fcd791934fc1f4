"""What only the edge knows: keys of labs, links of customers, posts and forms once answered."""

from api.models.bench_pin import BenchPin
from api.models.failed_sign_in import FailedSignIn
from api.models.file_mapping import FileMapping
from api.models.found_message import FoundMessage
from api.models.lab_key import LabKey
from api.models.lab_page import LabDraft, NumberWarning
from api.models.preference import Preference
from api.models.received_post import ReceivedPost
from api.models.result_batch import BatchLine, ResultBatch
from api.models.sent_form import SentForm
from api.models.status_link import StatusLink
from api.models.webhook import Webhook, WebhookCall

__all__ = [
    "BatchLine",
    "BenchPin",
    "FailedSignIn",
    "FileMapping",
    "FoundMessage",
    "LabDraft",
    "LabKey",
    "NumberWarning",
    "Preference",
    "ReceivedPost",
    "ResultBatch",
    "SentForm",
    "StatusLink",
    "Webhook",
    "WebhookCall",
]
