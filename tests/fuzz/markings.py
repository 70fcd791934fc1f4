"""Coverage-guided fuzzing of the reading of stamps; bounded, run by command.

``python -m tests.fuzz.markings [--seconds 60] [--seed 1]`` starts from the collected stamps and
lets the fuzzer change them. It ends with status 0 where nothing was raised and every promise held:
the answer is JSON of the promised names, and what is unread stands where it is said to stand.
A text that breaks a promise is written to the folder that is named at the end.
"""

import argparse
import datetime as dt
import importlib
import inspect
import json
import sys
import tempfile
import tomllib
import zlib
from pathlib import Path
from typing import Any

from cylinders.rules.markings import as_json, read

_CASES = Path(__file__).parents[2] / "fixtures" / "cases" / "markings.toml"
COUNTRIES = ("US", "DE", "GB", "CH", "??")
_WATCHED = "cylinders.rules"
_FIRST_DAY = dt.date(1990, 1, 1)


def one_input(data: bytes) -> None:
    """Read the text in ``data``, on a day and in a country that follow from it."""
    number = zlib.crc32(data)
    country = COUNTRIES[number % len(COUNTRIES)]
    day = _FIRST_DAY + dt.timedelta(days=number % 40_000)
    try:
        text = data.decode("utf-8", errors="surrogatepass")
    except UnicodeDecodeError:
        text = data.decode("utf-8", errors="replace")
    check(text, day, country)


def check(text: str, day: dt.date, country: str) -> None:
    """Raise ``AssertionError`` where a promise about the answer does not hold."""
    reading = read(text, on=day, country=country)
    answer = as_json(reading)
    if json.loads(json.dumps(answer)) != answer:
        raise AssertionError("the answer is not JSON")
    for part in reading.unread:
        if not part.text or not text.startswith(part.text, part.start):
            raise AssertionError(f"{part} does not stand where it is said to stand")
    latest = reading.latest_requalification
    if latest is not None and latest.date.first_day > day:
        raise AssertionError("a requalification ahead of the day was counted")
    if not (reading.marks or reading.unread or reading.questions) and any(
        char.isalnum() for char in text
    ):
        raise AssertionError("a text was passed over in silence")


def seeds() -> dict[str, bytes]:
    """Return the collected stamps by the names of their cases."""
    cases = tomllib.loads(_CASES.read_text(encoding="utf-8"))["case"]
    return {case["id"]: case["text"].encode() for case in cases}


def instrument(atheris: Any) -> None:
    """Let the fuzzer see which branches of the reading an input takes."""
    modules = [module for name, module in sys.modules.items() if name.startswith(_WATCHED)]
    for module in modules:
        for _, function in inspect.getmembers(module, inspect.isfunction):
            if function.__module__.startswith(_WATCHED):
                atheris.instrument_func(function)


def main() -> None:
    """Fuzz for the time that was asked for, in this one process."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--seconds", type=int, default=60)
    options.add_argument("--seed", type=int, default=1)
    asked = options.parse_args()
    corpus = Path(tempfile.mkdtemp(prefix="stamps-"))
    for name, text in seeds().items():
        (corpus / name).write_bytes(text)
    flags = [
        f"-max_total_time={asked.seconds}",
        f"-seed={asked.seed}",
        "-max_len=400",
        "-timeout=5",
        "-print_final_stats=1",
        f"-artifact_prefix={corpus}/broken-",
    ]
    # imported here: it is there on Linux only, and the other tests must not be instrumented
    atheris = importlib.import_module("atheris")
    instrument(atheris)
    atheris.Setup([sys.argv[0], *flags, str(corpus)], one_input)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
