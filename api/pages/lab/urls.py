"""The lab's pages, and the pages about problems; mounted at the root."""

from django.urls import path

from api.pages.lab import problem_pages
from api.pages.lab.chambers import Chambers
from api.pages.lab.checks import Checks
from api.pages.lab.enter import Enter
from api.pages.lab.files import Files, ModelFile, NotStored, OneFile
from api.pages.lab.in_hand import InHand
from api.pages.lab.log import Log, LogFile, RecordFile
from api.pages.lab.record import Paper, Record
from api.pages.lab.sign_in import SignIn, SignOut

urlpatterns = [
    path("lab/", InHand.as_view(), name="lab"),
    path("lab/sign-in/", SignIn.as_view(), name="lab-sign-in"),
    path("lab/sign-out/", SignOut.as_view(), name="lab-sign-out"),
    path("lab/cylinders/<int:line>/", Enter.as_view(), name="lab-enter"),
    path("lab/records/<str:reference>/", Record.as_view(), name="lab-record"),
    path("lab/records/<str:reference>/papers/<int:number>/", Paper.as_view(), name="lab-paper"),
    path("lab/chambers/", Chambers.as_view(), name="lab-chambers"),
    path("lab/checks/", Checks.as_view(), name="lab-checks"),
    path("lab/files/", Files.as_view(), name="lab-files"),
    path("lab/files/model.csv", ModelFile.as_view(), name="lab-file-model"),
    path("lab/files/<int:number>/", OneFile.as_view(), name="lab-file"),
    path("lab/files/<int:number>/to-mend.csv", NotStored.as_view(), name="lab-file-to-mend"),
    path("lab/log/", Log.as_view(), name="lab-day"),
    path("lab/log/<str:day>.<str:form>", LogFile.as_view(), name="lab-day-file"),
    path(
        "lab/records/<str:reference>/record.<str:form>",
        RecordFile.as_view(),
        name="lab-record-file",
    ),
    path("problems/", problem_pages.problems, name="problems"),
    path("problems/<slug:code>", problem_pages.problem, name="problem"),
]
