"""Files spoilt by chance: each is read or refused in words, whatever it is. Run it for long: python -m tests.fuzzing CASES SEED.

A case rests on its kind, its number and the seed alone, so that one that fails can be made again.
"""

from __future__ import annotations

import io
import random
import resource
import shutil
import sys
import tempfile
import time
import zipfile
from collections import Counter
from collections.abc import Callable
from functools import cache
from pathlib import Path

from tests.support import design_text, whole_example
from workbook_builder.evaluation.evaluation import evaluate, evaluation_for
from workbook_builder.file.building import build
from workbook_builder.file.design import read_design
from workbook_builder.file.reading import read_workbook
from workbook_builder.file.returned import worth
from workbook_builder.language.errors import WorkbookBuilderError
from workbook_builder.language.profiles import FOLDER, load_profile

READ, REFUSED = "read", "refused"
PARTS = ("xl/workbook.xml", "xl/_rels/workbook.xml.rels", "xl/sharedStrings.xml", "xl/worksheets/sheet2.xml")
# what is put where something else stood: beginnings of markup, numbers of all sizes, signs that steer
SCRAPS = (
    "", "<", ">", "&", "&amp;", "&x;", "]]>", "<!--", "<?x?>", "<a>", "</a>", "<c/>", '"', "'", "=", "[", "]", "#", "\n", "\t", "\x00",
    "\u202e", "\ud7ff", "é", "0", "-1", "1e999", "nan", "inf", "9" * 400, "0.1", "true", "TRUE", "-", ",", ";", "|", "°F", "V", "9**9",
    "$B$4", "#REF!", "Entries!", "xl/", "../", "rId1", "s", "str", "b", "e",
)  # fmt: skip


@cache
def original() -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        return build(whole_example(), Path(folder) / "a.xlsx").path.read_bytes()


def spoilt_bytes(content: bytes, chance: random.Random) -> bytes:
    """Some bytes other, gone, or there twice."""
    spoilt = bytearray(content)
    for _ in range(chance.choice((1, 1, 2, 5, 40))):
        place, length = chance.randrange(len(spoilt)), chance.choice((1, 4, 100, 5000))
        kind = chance.randrange(4)
        if kind == 0:
            spoilt[place] = chance.randrange(256)
        elif kind == 1:
            del spoilt[place : place + length]
        elif kind == 2:
            spoilt[place:place] = spoilt[place : place + length]
        else:
            spoilt[place : place + length] = bytes(length)
        if not spoilt:
            break
    return bytes(spoilt)


def spoilt_text(text: str, chance: random.Random) -> str:
    """Some pieces other, gone, elsewhere, or there many times."""
    for _ in range(chance.choice((1, 1, 2, 5, 20))):
        if not text:
            break
        place, length = chance.randrange(len(text)), chance.choice((0, 1, 3, 10, 200))
        piece, kind = text[place : place + length], chance.randrange(4)
        if kind == 0:
            new = chance.choice(SCRAPS)
        elif kind == 1:
            new = piece * chance.choice((2, 50))
        elif kind == 2:
            other = chance.randrange(len(text))
            new = text[other : other + chance.choice((1, 10, 200))]
        else:
            new = ""
        text = text[:place] + new + text[place + length :]
    return text


def judged(path: Path) -> str:
    try:
        reading = read_workbook(path)
    except WorkbookBuilderError:
        return REFUSED
    found = worth(reading, evaluate(reading.inputs, reading.profile))
    assert reading.trusted or not found.verdicts["verdict"].startswith("PASS")
    return READ


def of_bytes(chance: random.Random, folder: Path) -> str:
    path = folder / "a.xlsx"
    path.write_bytes(spoilt_bytes(original(), chance))
    return judged(path)


def of_markup(chance: random.Random, folder: Path) -> str:
    made = io.BytesIO()
    spoilt = chance.choice(PARTS)
    with zipfile.ZipFile(io.BytesIO(original())) as source, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as target:
        for part in source.infolist():
            content = source.read(part)
            if part.filename == spoilt:
                content = spoilt_text(content.decode(), chance).encode("utf-8", "replace")
            target.writestr(part.filename, content)
    path = folder / "a.xlsx"
    path.write_bytes(made.getvalue())
    return judged(path)


def of_designs(chance: random.Random, folder: Path) -> str:
    path = folder / "a.toml"
    path.write_bytes(spoilt_text(design_text(whole_example(), "nec-2023"), chance).encode("utf-8", "replace"))
    try:
        design = read_design(path)
    except WorkbookBuilderError:
        return REFUSED
    evaluate(design.inputs, design.profile)
    return READ


def of_profiles(chance: random.Random, folder: Path) -> str:
    chosen = Path(tempfile.mkdtemp(dir=folder)) / "ours"  # a folder is read once
    shutil.copytree(FOLDER / "nec-2023", chosen)
    path = chance.choice(sorted(chosen.glob("*.*")))
    path.write_bytes(spoilt_text(path.read_text(encoding="utf-8"), chance).encode("utf-8", "replace"))
    try:
        profile = load_profile(chosen)
        evaluation_for(profile)
    except WorkbookBuilderError:
        return REFUSED
    return READ


KINDS: dict[str, Callable[[random.Random, Path], str]] = {
    "bytes of a workbook": of_bytes,
    "markup of a workbook": of_markup,
    "a design file": of_designs,
    "a profile": of_profiles,
}


def tried(kind: str, cases: int, seed: int) -> tuple[Counter[str], list[str], float]:
    """How many cases were read and refused, what else happened, and the longest time of one."""
    ends: Counter[str] = Counter()
    faults, longest = [], 0.0
    with tempfile.TemporaryDirectory() as folder:
        for number in range(cases):
            chance = random.Random(f"{kind} {seed} {number}")
            began = time.perf_counter()
            try:
                ends[KINDS[kind](chance, Path(folder))] += 1
            except Exception as error:
                faults.append(f"{kind}, seed {seed}, case {number}: {type(error).__name__}: {error}"[:300])
            longest = max(longest, time.perf_counter() - began)
    return ends, faults, longest


def main() -> int:
    cases, seed = int(sys.argv[1]), int(sys.argv[2])
    every = []
    for kind in KINDS:
        ends, faults, longest = tried(kind, cases, seed)
        every += faults
        megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(f"{kind}: {dict(ends)}, {len(faults)} faults, longest {longest:.2f} s, at most {megabytes:.0f} MB so far", flush=True)
    print("\n".join(every))
    return 1 if every else 0


if __name__ == "__main__":
    sys.exit(main())
