"""``manage.py tags``: mint blank tags for a roll, and print any tag again.

Exit status: 0 done, 2 the input could not be used; the reason is on standard error.
"""

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand
from django.utils import timezone

from labels import codes, render_pdf, render_raster
from labels.content import content_of
from labels.models import Tag
from labels.operations.minting import mint
from labels.sheets.media import A4, ROLL_62

UNUSABLE = 2
_RESOLUTIONS = (203, 300, 600)


class Unusable(ValueError):
    """What was asked for cannot be done, with the reason."""


class Command(BaseCommand):
    help = "Mint blank tags (tags mint --count 200 --pdf FILE) or print one (tags print CODE)."

    def add_arguments(self, parser: ArgumentParser) -> None:
        verbs = parser.add_subparsers(dest="verb", required=True)
        minting = verbs.add_parser("mint", help="mint blank tags, bound at their first scan")
        minting.add_argument("--count", type=int, default=1)
        printing = verbs.add_parser("print", help="print a tag as it was minted")
        printing.add_argument("code")
        for verb in (minting, printing):
            verb.add_argument("--pdf", type=Path, help="write one PDF here")
            verb.add_argument("--png", type=Path, help="write PNGs into this folder")
            verb.add_argument("--dpi", type=int, choices=_RESOLUTIONS, default=203)
            verb.add_argument("--page", choices=("roll", "a4"), default="roll")

    def handle(self, *_args: Any, **options: Any) -> None:
        minting = options["verb"] == "mint"
        try:
            _must_be_writable(options["pdf"])
            tags = self._mint(options) if minting else [self._find(options["code"])]
            self._draw(tags, options)
        except (Unusable, OSError) as problem:
            self.stderr.write(str(problem))
            sys.exit(UNUSABLE)
        for tag in tags:
            self.stdout.write(f"{codes.show(tag.code)}  {tag.get_state_display()}  {tag.url}")

    def _draw(self, tags: list[Tag], options: dict[str, Any]) -> None:
        contents = [content_of(tag) for tag in tags]
        if options["pdf"]:
            medium = A4 if options["page"] == "a4" else ROLL_62
            options["pdf"].write_bytes(render_pdf.pdf(contents, medium))
            self.stderr.write(f"{len(tags)} tags in {options['pdf']}")
        if options["png"]:
            options["png"].mkdir(parents=True, exist_ok=True)
            for tag, content in zip(tags, contents, strict=True):
                for face in range(len(content.faces())):
                    picture = render_raster.png(content, dpi=options["dpi"], face=face)
                    (options["png"] / f"{tag.code}-{face + 1}.png").write_bytes(picture)

    def _mint(self, options: dict[str, Any]) -> list[Tag]:
        try:
            return mint(count=options["count"], host=settings.TAG_HOST, at=timezone.now())
        except ValueError as problem:
            raise Unusable(str(problem)) from problem

    def _find(self, typed: str) -> Tag:
        try:
            return Tag.objects.get(code=codes.compact(typed))
        except codes.CodeError as problem:
            raise Unusable(f"{typed}: {problem}") from problem
        except Tag.DoesNotExist as problem:
            raise Unusable(f"{typed}: no tag of this house bears that code") from problem


def _must_be_writable(pdf: Path | None) -> None:
    """Look before codes are spent on a file that cannot be written."""
    if pdf and not pdf.parent.is_dir():
        raise Unusable(f"{pdf}: there is no folder {pdf.parent}; nothing was minted")
