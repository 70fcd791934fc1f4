"""The addresses of the bench."""

from django.contrib.auth.views import LogoutView
from django.urls import path

from api.pages.bench.board import Board, Wall
from api.pages.bench.cylinder import CylinderPage
from api.pages.bench.due import Due
from api.pages.bench.ending import CondemnedPrint, Notice, Stop
from api.pages.bench.figures import OwnerFigures
from api.pages.bench.filling import ContentsPrint, Filling, LimitsFragment
from api.pages.bench.handover import Handover
from api.pages.bench.held import Held, Record
from api.pages.bench.inspection import Inspection, OxygenClean
from api.pages.bench.intake import Intake
from api.pages.bench.lab_files import LabFiles, WaitingLine
from api.pages.bench.lab_log import CylinderLogFile, LabLog, LabLogFile
from api.pages.bench.labels import LabelRun, LabelRunPrint, Labels
from api.pages.bench.login import SignIn
from api.pages.bench.me import Me
from api.pages.bench.months import Months
from api.pages.bench.order import GoToNext
from api.pages.bench.owner_links import OwnerLinks
from api.pages.bench.photos import File, Photos
from api.pages.bench.reading import ReadingFragment
from api.pages.bench.reassembly import Reassembly
from api.pages.bench.recall import Recall, RecallFile, RecallLetterPage
from api.pages.bench.receive_again import ReceiveAgain
from api.pages.bench.runs import ManifestPrint, Pack, Run, Runs, RunsIn, RunTo
from api.pages.bench.scan import Scan
from api.pages.bench.search import Find
from api.pages.bench.service import ValveService
from api.pages.bench.stamp import Stamp
from api.pages.bench.tags import TagPage, TagPicture
from api.pages.bench.teardown import Teardown
from api.pages.bench.webhooks import Webhooks

_ORDER = "bench/orders/<int:pk>/"

urlpatterns = [
    # The bench
    path("bench/", Board.as_view(), name="board"),
    path("bench/login/", SignIn.as_view(), name="login"),
    path("bench/logout/", LogoutView.as_view(next_page="login"), name="logout"),
    path("bench/me/", Me.as_view(), name="me"),
    path("bench/scan/", Scan.as_view(), name="scan"),
    path("bench/find/", Find.as_view(), name="find"),
    path("bench/due/", Due.as_view(), name="due"),
    path("bench/due/months/", Months.as_view(), name="months"),
    path("bench/wall/", Wall.as_view(), name="wall"),
    path("bench/intake/", Intake.as_view(), name="intake"),
    path("bench/intake/reading/", ReadingFragment.as_view(), name="reading"),
    path("bench/tags/<str:code>/", TagPage.as_view(), name="tag"),
    path("bench/tags/<str:code>/print.<str:form>", TagPicture.as_view(), name="tag-picture"),
    path("bench/figures/", OwnerFigures.as_view(), name="figures"),
    path("bench/webhooks/", Webhooks.as_view(), name="webhooks"),
    path("bench/labels/", Labels.as_view(), name="labels"),
    path("bench/labels/<int:pk>/", LabelRun.as_view(), name="label-run"),
    path("bench/labels/<int:pk>/labels.pdf", LabelRunPrint.as_view(), name="label-run-print"),
    path("bench/cylinders/<int:pk>/", CylinderPage.as_view(), name="cylinder"),
    path("bench/cylinders/<int:pk>/links/", OwnerLinks.as_view(), name="owner-links"),
    path("bench/cylinders/<int:pk>/photos/", Photos.as_view(), name="photos"),
    path("bench/files/<int:pk>/", File.as_view(), name="file"),
    path("bench/cylinders/<int:pk>/receive/", ReceiveAgain.as_view(), name="receive-again"),
    path("bench/lab-files/", LabFiles.as_view(), name="lab-files-waiting"),
    path("bench/lab-files/<int:pk>/", WaitingLine.as_view(), name="lab-file-line"),
    path("bench/held/", Held.as_view(), name="held"),
    path("bench/records/<int:pk>/", Record.as_view(), name="record"),
    path("bench/lab-log/", LabLog.as_view(), name="lab-log"),
    path("bench/lab-log/<int:lab>/<str:day>.<str:form>", LabLogFile.as_view(), name="lab-log-file"),
    path(
        "bench/cylinders/<int:pk>/tests.<str:form>",
        CylinderLogFile.as_view(),
        name="cylinder-tests",
    ),
    path("bench/recall/", Recall.as_view(), name="recall"),
    path("bench/recall/list.csv", RecallFile.as_view(), name="recall-file"),
    path("bench/recall/letters/<int:customer>/", RecallLetterPage.as_view(), name="recall-letter"),
    # Runs to a lab
    path("bench/runs/", Runs.as_view(), name="runs"),
    path("bench/runs/in/", RunsIn.as_view(), name="runs-in"),
    path("bench/runs/to/<int:pk>/", RunTo.as_view(), name="run-to"),
    path("bench/runs/<int:pk>/", Run.as_view(), name="run"),
    path("bench/runs/<int:pk>/list.pdf", ManifestPrint.as_view(), name="manifest"),
    # The steps of a visit
    path(_ORDER, GoToNext.as_view(), name="order"),
    path(_ORDER + "teardown/", Teardown.as_view(), name="teardown"),
    path(_ORDER + "pack/", Pack.as_view(), name="pack"),
    path(_ORDER + "stamp/", Stamp.as_view(), name="stamp"),
    path(_ORDER + "inspection/", Inspection.as_view(), name="inspection"),
    path(_ORDER + "oxygen/", OxygenClean.as_view(), name="oxygen"),
    path(_ORDER + "reassembly/", Reassembly.as_view(), name="reassembly"),
    path(_ORDER + "parts/<int:part>/service/", ValveService.as_view(), name="service"),
    path(_ORDER + "fill/", Filling.as_view(), name="fill"),
    path(_ORDER + "fill/limits/", LimitsFragment.as_view(), name="limits"),
    path(_ORDER + "fill/label.<str:form>", ContentsPrint.as_view(), name="contents"),
    path(_ORDER + "handover/", Handover.as_view(), name="handover"),
    path(_ORDER + "stop/", Stop.as_view(), name="stop"),
    path(_ORDER + "notice/", Notice.as_view(), name="notice"),
    path(_ORDER + "notice/tag.<str:form>", CondemnedPrint.as_view(), name="condemned-tag"),
]
