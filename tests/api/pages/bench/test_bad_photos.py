"""Forty-two kinds of file where a photo is due: what each got.

The list follows OWASP ASVS 5.0.0, V5.2.1, V5.2.2 and V5.2.6, and what phones and hostile senders
are known to send (common practice). Each row says in words what came of it.
"""

import datetime as dt
import gzip
import io
import struct
import zipfile
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test.client import BOUNDARY, MULTIPART_CONTENT, encode_multipart
from PIL import Image, ImageFilter
from pytest_django import Settings

from api import links, papers
from cylinders.facts import Actor
from cylinders.models import Attachment, StoredFile, WorkOrder
from cylinders.operations import filing
from cylinders.queries import stored_files
from cylinders.queries.verification import verify
from cylinders.rules.refusal import Refused
from labels import qr
from labels.operations import binding
from labels.operations.binding import Thing
from tests import files, makers
from tests.api.pages.bench.desk import Desk

pytestmark = pytest.mark.django_db

BY = Actor("staff", "1")
NOT_A_PHOTO = "This is no JPEG, PNG or WebP photo."
#: the line of the EICAR test file, in two halves so that no scanner takes this file for it
EICAR = "X5O!P%@AP[4\\PZX54(P^)7CC)7}$EICAR" + "-STANDARD-ANTIVIRUS-TEST-FILE!$H+H*"


@pytest.fixture(autouse=True)
def own_folder(settings: Settings, tmp_path: Path) -> None:
    """Each row has a storage of its own."""
    settings.STORAGES = files.storages_in(tmp_path)


class Bench:
    """One visit, and the page where its photos are added."""

    def __init__(self) -> None:
        self.desk = Desk()
        makers.technician_one()
        self.order: WorkOrder = makers.receive()
        self.page = f"/bench/cylinders/{self.order.cylinder_id}/photos/"

    def send(self, *sent: bytes | SimpleUploadedFile) -> str:
        """Send files as photos; what the page says then, in one word and a sentence."""
        photos = [_file(one) for one in sent]
        self.desk.open(self.page).press("add", photos=photos, shows="whole")
        return "kept" if self.desk.status == 200 else self.desk.text

    def kept(self) -> Image.Image:
        """The latest photo as it lies in the storage, when nothing but pixels came through."""
        row = Attachment.objects.select_related("file").latest("pk")
        data = stored_files.read(row.file)
        picture = Image.open(io.BytesIO(data))
        assert picture.format == "JPEG"
        assert dict(picture.getexif()) == {}
        assert set(picture.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
        assert (row.file.width, row.file.height) == picture.size
        for hidden in (b"<script", b"<?php", b"EICAR", b"canary"):
            assert hidden not in data
        return picture

    def refused(self, sent: bytes | SimpleUploadedFile, why: str) -> str:
        """Send one that is refused for this reason: nothing is stored, and it is named."""
        before = StoredFile.objects.count()
        said = self.send(sent)
        assert self.desk.status == 422
        assert why in said, said
        assert f"{_file(sent).name} was not kept." in said
        assert StoredFile.objects.count() == before
        return "refused"


def _file(sent: bytes | SimpleUploadedFile) -> SimpleUploadedFile:
    return sent if isinstance(sent, SimpleUploadedFile) else SimpleUploadedFile("p.jpg", sent)


def _each_refused(bench: Bench, sent: list[bytes], why: str) -> str:
    return {bench.refused(one, why) for one in sent}.pop()


def _kept_clean(bench: Bench, *sent: bytes) -> str:
    for one in sent:
        assert bench.send(one) == "kept", bench.desk.text
        bench.kept()
    return "made anew"


def polyglots(bench: Bench) -> str:
    page = b"<html><script>alert(1)</script></html>"
    assert bench.refused(b"GIF89a/*" + page + b"*/", NOT_A_PHOTO)
    return _kept_clean(bench, files.photo(comment=page) + page)


def php_in_exif(bench: Bench) -> str:
    exif = Image.Exif()
    exif[0x010E] = "<?php system($_GET['x']); ?>"
    return _kept_clean(bench, files.photo(exif=exif))


def corrupted(bench: Bench) -> str:
    data = bytearray(files.photo())
    data[len(data) // 2 : len(data) // 2 + 40] = bytes(40)
    return _kept_clean(bench, bytes(data))


def fifty_megabytes(bench: Bench) -> str:
    sent = SimpleUploadedFile("huge.jpg", files.photo() + bytes(50 * 1024 * 1024))
    return bench.refused(sent, "It is larger than 8 MB: make it smaller.")


def zlib_bombs(bench: Bench) -> str:
    bomb = zlib.compress(bytes(70_000_000), 9)
    text = files.png_of(64, 64, *[(b"zTXt", b"k\x00\x00" + bomb)] * 2)
    profile = files.png_of(64, 64, (b"iCCP", b"p\x00\x00" + bomb))
    bench.refused(text, "The file is damaged")
    said = bench.send(profile)  # the profile is dropped unread, or the file is damaged
    return "refused, or made anew" if said == "kept" or "damaged" in said else said


def moving(bench: Bench) -> str:
    frames = [files.picture(str(n), (64, 64)) for n in range(3)]
    more: dict[str, Any] = {"save_all": True, "append_images": frames[1:]}
    bench.refused(files.saved(frames[0], "GIF", **more), NOT_A_PHOTO)
    bench.refused(files.saved(frames[0], "WEBP", **more), "moving picture")
    many = files.png_of(64, 64, (b"acTL", struct.pack(">II", 10_000, 0)))
    return bench.refused(many, "moving picture")


def odd_formats(bench: Bench) -> str:
    heads = [b"8BPS\x00\x01", b"%!PS-Adobe-3.0 EPSF-3.0", b"icns", b"BM" + bytes(60)]
    heads += [gzip.compress(b"SIMPLE  =  T", mtime=0), b"\x00\x00\x00\x0cjP  \r\n\x87\n"]
    return _each_refused(bench, heads, NOT_A_PHOTO)


def colours(bench: Bench) -> str:
    rgb = files.picture()
    clear = rgb.convert("P")
    sixteen = Image.new("I;16", (64, 64), 40_000)
    sent = (
        files.saved(rgb.convert("CMYK")),
        files.saved(sixteen, "PNG"),
        files.saved(clear, "PNG", transparency=3),
    )
    made = _kept_clean(bench, *sent)
    assert bench.kept().mode == "RGB"
    return made


def orientations(bench: Bench) -> str:
    red = Image.new("RGB", (80, 60), "white")
    red.paste((255, 0, 0), (0, 0, 40, 30))  # the upper left quarter of what was seen
    held = {}
    for number in (*range(1, 9), 9, 0):
        exif = Image.Exif()
        exif[0x0112] = number
        held[number] = files.saved(_as_held(red, number), exif=exif, quality=90 + number % 5)
    assert bench.send(*held.values()) == "kept"
    for row in Attachment.objects.select_related("file"):
        upright = Image.open(io.BytesIO(stored_files.read(row.file)))
        assert upright.size == (80, 60)
        corner = upright.getpixel((20, 15))
        assert isinstance(corner, tuple)
        assert corner[0] > 200
        assert corner[1] < 100
    return "made upright"


def _as_held(seen: Image.Image, orientation: int) -> Image.Image:
    """What a camera held that way stores of what was ``seen`` (Exif 2.32, table 4)."""
    turns = {
        2: Image.Transpose.FLIP_LEFT_RIGHT,
        3: Image.Transpose.ROTATE_180,
        4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE,
        6: Image.Transpose.ROTATE_90,
        7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_270,
    }
    return seen.transpose(turns[orientation]) if orientation in turns else seen


def position(bench: Bench) -> str:
    exif = Image.Exif()
    exif[0x010F] = "canary"
    exif.get_ifd(0x8825)[1] = "N"
    exif.get_ifd(0x8825)[2] = (12.0, 34.0, 56.0)
    return _kept_clean(bench, files.photo(exif=exif))


def looped_exif(bench: Bench) -> str:
    good = files.photo()
    looped = b"Exif\x00\x00MM\x00*\x00\x00\x00\x08" + b"\xff" * 60_000
    segment = b"\xff\xe1" + struct.pack(">H", len(looped) + 2) + looped
    return _kept_clean(bench, good[:2] + segment + good[2:])


def live_photo(bench: Bench) -> str:
    pair = [files.picture(str(n)) for n in range(2)]
    return _kept_clean(bench, files.saved(pair[0], "MPO", save_all=True, append_images=pair[1:]))


def wrong_type(bench: Bench) -> str:
    sent = SimpleUploadedFile("p.jpg", files.photo(), content_type="text/html")
    assert bench.send(sent) == "kept"
    row = Attachment.objects.latest("pk")
    answer = bench.desk.client.get(f"/bench/files/{row.pk}/")
    assert answer.headers["Content-Type"] == "image/jpeg"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    return "its bytes decide"


def odd_names(bench: Bench) -> str:
    names = [
        "../../etc/x.jpg",
        "n" * 300 + ".jpg",
        "CON",
        "a\u202egpj.exe",
        "a\nb.jpg",
        "x\x00.jpg",
    ]
    sent = [SimpleUploadedFile("p.jpg", files.photo(name)) for name in names]
    for one, name in zip(sent, names, strict=True):
        one.name = name
    assert bench.send(*sent) == "kept"
    for file in StoredFile.objects.all():
        assert file.key.startswith(f"files/{file.sha256[:2]}/{file.sha256}-")
        assert len(file.key) == len("files/xx/") + 64 + len("-") + 8
    assert StoredFile.objects.count() == len(names)
    bad = SimpleUploadedFile("p.jpg", b"no photo")
    bad.name = "a\u202egpj<b>.exe"
    said = bench.send(bad)
    assert "agpj&lt;b&gt;.exe was not kept." in said
    return "named by the server"


def twice(bench: Bench) -> str:
    for _ in range(2):
        assert bench.send(files.photo(), files.photo()) == "kept"
    assert "came before and is kept once" in bench.desk.text
    assert StoredFile.objects.count() == Attachment.objects.count() == 1
    return "kept once"


def hundred(bench: Bench) -> str:
    said = bench.send(*[files.saved(files.picture("", (40, 40)))] * 100)
    assert "At most 12 photos at once; none of these was kept." in said
    assert not StoredFile.objects.exists()
    return "refused"


class _Drips(io.BytesIO):
    """A body that comes a thousand bytes at a time, whatever is asked for."""

    def read(self, size: int | None = -1) -> bytes:
        return super().read(min(size, 1_000) if size and size > 0 else 1_000)


def _raw(bench: Bench, body: io.BytesIO, length: int, content_type: str = MULTIPART_CONTENT) -> int:
    """Send a body as it is; the answer's status."""
    bench.desk.client.raise_request_exception = False
    more: dict[str, Any] = {"wsgi.input": body, "CONTENT_LENGTH": str(length)}
    more["CONTENT_TYPE"] = content_type
    answer = bench.desk.client.generic("POST", bench.page, b"", content_type, **more)
    return int(answer.status_code)


def _form(photo: bytes, **more: Any) -> bytes:
    sent = {"do": "add", "once": "x", "shows": "whole", "photos": _file(photo)} | more
    return encode_multipart(BOUNDARY, sent)


def slow(bench: Bench) -> str:
    body = _form(files.photo())
    assert _raw(bench, _Drips(body), len(body)) == 302
    bench.kept()
    return "made anew"


def cut(bench: Bench) -> str:
    photo = files.photo()
    body = _form(photo)
    assert _raw(bench, io.BytesIO(body[: len(body) * 9 // 10]), len(body)) == 409
    assert not StoredFile.objects.exists()
    assert _raw(bench, io.BytesIO(body), len(body)) == 302
    return "refused, then made anew"


def malformed(bench: Bench) -> str:
    body = _form(files.photo())
    wrong = MULTIPART_CONTENT.replace(BOUNDARY, "other")
    assert _raw(bench, io.BytesIO(body), len(body), wrong) == 422
    fields = _form(files.photo(), **{f"f{n}": "x" for n in range(10_000)})
    assert _raw(bench, io.BytesIO(fields), len(fields)) == 400
    assert not Attachment.objects.exists()
    endless = body[: -len(BOUNDARY) - 8]
    assert _raw(bench, io.BytesIO(endless), len(endless)) == 409
    assert bench.send(files.photo("a"), files.photo("b")) == "kept"
    assert not verify().problems
    return "refused, or made anew"


def disk_full(bench: Bench) -> str:
    with pytest.MonkeyPatch.context() as patch:

        def full(*_: Any, **__: Any) -> str:
            raise OSError(28, "No space left on device")

        patch.setattr(default_storage, "save", full)
        said = bench.send(files.photo())
    assert bench.desk.status == 422
    assert "could not be stored (No space left on device). Nothing was recorded" in said
    assert not StoredFile.objects.exists()
    return "refused"


def killed(bench: Bench) -> str:
    content = filing.Content(files.photo(), "image/jpeg", 400, 300)
    with pytest.MonkeyPatch.context() as patch:

        def dies(*_: Any, **__: Any) -> None:
            raise KeyboardInterrupt

        patch.setattr(StoredFile, "save", dies)
        with pytest.raises(KeyboardInterrupt):
            filing.keep(content, at=makers.NOON)
    assert bench.send(files.photo("another")) == "kept"
    written = default_storage.get_modified_time(Attachment.objects.get().file.key)
    assert filing.sweep(at=written + dt.timedelta(hours=23)) == 0
    assert filing.sweep(at=written + dt.timedelta(hours=25)) == 1
    bench.kept()
    return "swept after a day"


def row_without_file(bench: Bench) -> str:
    assert bench.send(files.photo()) == "kept"
    row = Attachment.objects.get()
    default_storage.delete(row.file.key)
    bench.desk.open(bench.page)
    assert "its file is missing or was changed outside this service" in bench.desk.text
    assert bench.desk.client.get(f"/bench/files/{row.pk}/").status_code == 410
    [problem] = verify().problems
    assert "its bytes are not in the storage" in problem
    default_storage.save(row.file.key, ContentFile(b"something else"))
    [problem] = verify().problems
    assert "not those that were stored" in problem
    assert bench.send(files.photo()) == "kept"
    assert verify().problems == ()
    return "said plainly"


def quality(bench: Bench) -> str:
    black = files.saved(Image.new("RGB", (200, 200), "black"))
    white = files.saved(Image.new("RGB", (200, 200), "white"))
    blurred = files.saved(files.picture().filter(ImageFilter.GaussianBlur(40)))
    for sent, hint in ((black, "very dark"), (white, "very bright"), (blurred, "looks blurred")):
        assert bench.send(sent) == "kept"
        assert hint in bench.desk.text
    return "kept with a hint"


def face(bench: Bench) -> str:
    assert bench.send(files.photo("a face")) == "kept"
    link = links.issue(cylinder_id=bench.order.cylinder_id, at=makers.NOON, by=BY)
    row = Attachment.objects.get()
    page = f"/s/{link.token}"
    assert b"/photos/" not in bench.desk.client.get(page).content
    assert bench.desk.client.get(f"{page}/photos/{row.pk}.jpg").status_code == 404
    assert "Look for faces and number plates first." in bench.desk.open(bench.page).text
    return "not shown before somebody chose it"


def other_tag(bench: Bench) -> str:
    other = makers.receive(serial="KX90210")
    tag = binding.issue(
        thing=Thing.cylinder(other.cylinder), host="CYL.EXAMPLE", at=makers.NOON, by=BY
    )
    rows = qr.symbol("CYL.EXAMPLE", tag.code).rows
    small = Image.new("L", (len(rows), len(rows)))
    small.putdata([0 if module == "1" else 255 for row in rows for module in row])
    seen = Image.new("RGB", (600, 600), "white")
    seen.paste(small.resize((400, 400), Image.Resampling.NEAREST), (100, 100))
    assert bench.send(files.saved(seen)) == "kept"
    assert "A tag of something else is in view" in bench.desk.text
    return "kept with a caution"


def odd_dates(bench: Bench) -> str:
    for date in ("1970:01:01 00:00:00", "2999:01:01 00:00:00"):
        exif = Image.Exif()
        exif.get_ifd(0x8769)[0x9003] = date
        _kept_clean(bench, files.photo(date, exif=exif))
    assert {row.added_at for row in Attachment.objects.all()} == {makers.NOON}
    return "the service's own clock counts"


def active_papers(bench: Bench) -> str:
    bench.refused(files.paper(), "This is a PDF, no photo.")
    hostile = {
        "file_locked": [files.locked_paper()],
        "file_too_large": [files.paper(pages=301), bytes(papers.MOST_BYTES + 1)],
        "file_active": [
            files.carrying_paper(),
            files.acting_paper("/JavaScript", "/JS"),
            files.acting_paper("/Launch", "/F"),
            files.acting_paper("/JavaScript", "/JS").replace(b"/JavaScript", b"/J#61va#53cript"),
        ],
        "file_damaged": [files.paper()[:-60], b"%PDF-1.7 nothing %%EOF"],
    }
    for code, sent in hostile.items():
        for one in sent:
            with pytest.raises(Refused) as refused:
                papers.judged(one)
            assert refused.value.code == code
    return "refused"


def zips(bench: Bench) -> str:
    inner = io.BytesIO()
    with zipfile.ZipFile(inner, "w", zipfile.ZIP_DEFLATED) as box:
        box.writestr("a", bytes(1_000_000))
    outer = io.BytesIO()
    with zipfile.ZipFile(outer, "w", zipfile.ZIP_DEFLATED) as box:
        box.writestr("b.zip", inner.getvalue())
    return _each_refused(bench, [inner.getvalue(), outer.getvalue()], NOT_A_PHOTO)


def eicar(bench: Bench) -> str:
    bench.refused(EICAR.encode(), NOT_A_PHOTO)
    return _kept_clean(bench, files.photo(comment=EICAR.encode()) + EICAR.encode())


@dataclass(frozen=True)
class Row:
    """One kind of file, what it got, and how that is seen."""

    number: int
    what: str
    got: str
    see: Callable[[Bench], str]

    def __str__(self) -> str:
        return f"{self.number} {self.what}"


BIG, BIGGER = files.png_of(9_000, 9_000), files.png_of(20_000, 20_000, rows=9)
PIXELS = "It has too many pixels: 25 million at most."
ROWS = (
    Row(1, "0 bytes", "refused", lambda b: b.refused(b"", "The file is empty")),
    Row(2, "1 byte", "refused", lambda b: b.refused(b"\xff", NOT_A_PHOTO)),
    Row(3, "text", "refused", lambda b: b.refused(b"no photo at all", NOT_A_PHOTO)),
    Row(
        4,
        "HTML and SVG with a script",
        "refused",
        lambda b: _each_refused(
            b, [b"<script>1</script>", b"<svg onload='alert(1)'/>"], NOT_A_PHOTO
        ),
    ),
    Row(5, "JPEG and HTML, GIF and JavaScript", "made anew", polyglots),
    Row(6, "PHP in the Exif", "made anew", php_in_exif),
    Row(
        7,
        "half a JPEG",
        "refused",
        lambda b: b.refused(files.photo()[:4000], "The file is damaged"),
    ),
    Row(8, "corrupted in the middle", "made anew", corrupted),
    Row(9, "9000 x 9000 in 10 KB", "refused", lambda b: b.refused(BIG, PIXELS)),
    Row(10, "20000 x 20000", "refused", lambda b: b.refused(BIGGER, PIXELS)),
    Row(
        11,
        "1 x 65535",
        "refused",
        lambda b: b.refused(files.png_of(1, 65_535), "It has only 1 x 65535 pixels."),
    ),
    Row(
        12, "no height", "refused", lambda b: b.refused(files.png_of(64, 0), "The file is damaged")
    ),
    Row(13, "50 MB", "refused", fifty_megabytes),
    Row(14, "compressed text and profile of 70 MB", "refused, or made anew", zlib_bombs),
    Row(15, "moving pictures, one of 10,000 frames", "refused", moving),
    Row(
        16,
        "TIFF of several pages",
        "refused",
        lambda b: b.refused(
            files.saved(files.picture(), "TIFF", save_all=True, append_images=[files.picture("2")]),
            NOT_A_PHOTO,
        ),
    ),
    Row(17, "PSD, EPS, ICNS, BMP, packed FITS, JPEG 2000", "refused", odd_formats),
    Row(
        18,
        "HEIC",
        "refused",
        lambda b: b.refused(b"\x00\x00\x00\x18ftypheic" + bytes(99), "Set the camera to save JPEG"),
    ),
    Row(
        19,
        "AVIF",
        "refused",
        lambda b: b.refused(b"\x00\x00\x00\x18ftypavif" + bytes(99), "Send it as JPEG."),
    ),
    Row(20, "CMYK, 16 bits, palette with transparency", "made anew", colours),
    Row(21, "orientations 1 to 8, 9 and 0", "made upright", orientations),
    Row(22, "Exif with a position", "made anew", position),
    Row(23, "Exif that loops, of 60 KB", "made anew", looped_exif),
    Row(24, "two pictures in one file", "made anew", live_photo),
    Row(25, "another Content-Type", "its bytes decide", wrong_type),
    Row(26, "names that lie, climb or are too long", "named by the server", odd_names),
    Row(27, "the same photo twice", "kept once", twice),
    Row(28, "100 at once", "refused", hundred),
    Row(29, "a slow body", "made anew", slow),
    Row(30, "cut at nine tenths, then sent again", "refused, then made anew", cut),
    Row(31, "a malformed form", "refused, or made anew", malformed),
    Row(32, "a full disk", "refused", disk_full),
    Row(33, "killed between file and row", "swept after a day", killed),
    Row(34, "a row without its file", "said plainly", row_without_file),
    Row(35, "black, white, blurred", "kept with a hint", quality),
    Row(36, "a face in view", "not shown before somebody chose it", face),
    Row(37, "the tag of another cylinder in view", "kept with a caution", other_tag),
    Row(38, "dated 1970 and 2999", "the service's own clock counts", odd_dates),
    Row(39, "a PDF", "refused", lambda b: b.refused(files.paper(), "Take a photo of the paper.")),
    Row(40, "PDFs that are locked, long, active or cut", "refused", active_papers),
    Row(41, "a zip, and a zip in a zip", "refused", zips),
    Row(42, "the EICAR test file", "made anew", eicar),
)


def test_the_list_is_whole() -> None:
    assert [row.number for row in ROWS] == list(range(1, 43))


@pytest.mark.parametrize("row", ROWS, ids=str)
@pytest.mark.sampled(of=4)
def test_each_kind_of_file_gets_what_the_list_says(row: Row) -> None:
    assert row.see(Bench()) == row.got
