"""How values, sentences and pieces of the drawing are printed: the templates behind ``printed.py``."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from workbook_builder.evaluation.tasks import is_missing
from workbook_builder.language.steps import Argument, Given, Step
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.templates import Instance, Template
from workbook_builder.language.wording import ABSENT, number_text


def _printed(name: str) -> Template:
    return Template(name, guarded=False, single=True)


VALUE, SIZED_VALUE = (
    _printed("a value in print"),
    _printed("a standard size in print"),
)


@VALUE.step(
    name="shown",
    kind="any",
    words="The value, or in words that there is none.",
    formula='IF(value="",absent,value)',
)
def shown(value: Any, absent: str) -> Any:
    """Return the value, or the words where there is none."""
    return absent if is_missing(value) else value


@SIZED_VALUE.step(
    name="shown",
    kind="any",
    words="The size; or that none is needed, that none fits, or that it is not known yet.",
    formula='IF(value="",IF(least="",IF(needed="",unknown,absent),unfit),value)',
)
def shown_size(value: Any, least: Any, needed: Any, unknown: str, absent: str, unfit: str) -> Any:
    """Return the size, or the words where there is none."""
    if not is_missing(value):
        return value
    if not is_missing(least):
        return unfit
    return unknown if is_missing(needed) else absent


for _template in (VALUE, SIZED_VALUE):

    @_template.step(
        name="unit_shown",
        kind="text",
        words="Its unit, where there is a value.",
        formula='IF(value="","",unit)',
    )
    def unit_shown(value: Any, unit: str) -> str:
        """Return the unit, or nothing."""
        return "" if is_missing(value) else unit


SENTENCE, JUDGED_SENTENCE = (
    _printed("a sentence that a choice decides"),
    _printed("a sentence that a verdict decides"),
)


@SENTENCE.step(
    name="said",
    kind="text",
    words="The sentence of the word.",
    formula='IF(subject="",absent,INDEX(sentences,MATCH(subject,words,0)))',
)
def said_of_a_choice(subject: str, absent: str, sentences: Any, words: Any) -> str:
    """Return the sentence of a word, or that there is none."""
    return absent if is_missing(subject) else _sentence(subject, sentences, words)


@JUDGED_SENTENCE.step(
    name="said",
    kind="text",
    words="The sentence of the word.",
    formula="INDEX(sentences,MATCH(subject,words,0))",
)
def said_of_a_verdict(sentences: Any, subject: str, words: Any) -> str:
    """Return the sentence of a word."""
    return _sentence(subject, sentences, words)


def _sentence(subject: str, sentences: Any, words: Any) -> str:
    found: str = sentences[words.index(subject)]
    return found


# ---- the drawing


def strings_drawn(fuse: Mapping[str, Argument]) -> Iterator[Instance]:
    """Yield what is drawn of the strings; the second and third only where there are so many."""
    bound = {**fuse, "rating": "string_fuse_fitted"}
    yield Instance("string_1", FIRST_STRING, bound)
    for number, mark in ((2, "shown_drawn_second"), (3, "shown_drawn_third")):
        yield Instance(f"string_{number}", FURTHER_STRING, bound | {"mark": mark, "modules": "shown_drawn_series", "gone": Given(ABSENT)})


FIRST_STRING, FURTHER_STRING = (
    _printed("the first string, drawn"),
    _printed("a further string, drawn"),
)


@FIRST_STRING.step(
    kind="text",
    words="The fuse in words, with its rating.",
    formula='INDEX(sentences,MATCH(subject,words,0))&IF(rating="",""," "&ROUND(rating,2)&" A")',
)
def fuse(sentences: Any, subject: str, words: Any, rating: Any) -> str:
    """Return the fuse of the first string in words."""
    rated = "" if is_missing(rating) else f" {number_text(float(round_half_away(rating, 2)))} A"
    return _sentence(subject, sentences, words) + rated


@FURTHER_STRING.step(
    name="fuse",
    kind="text",
    words="The fuse in words; nothing where there is no such string.",
    formula='IF(mark=gone,"",INDEX(sentences,MATCH(subject,words,0))&IF(rating="",""," as in 1"))',
)
def further_fuse(mark: str, gone: str, sentences: Any, subject: str, words: Any, rating: Any) -> str:
    """Return the fuse of a further string in words."""
    alike = "" if is_missing(rating) else " as in 1"
    return "" if mark == gone else _sentence(subject, sentences, words) + alike


@FURTHER_STRING.step(
    kind="text",
    words="The modules of the string; nothing where there is no such string.",
    formula='IF(mark=gone,"",modules)',
)
def series(mark: str, gone: str, modules: str) -> str:
    """Return the modules of a further string in words."""
    return "" if mark == gone else modules


def _sign(name: str, sign: str) -> None:
    def drawn(mark: str, gone: str) -> str:
        return "" if mark == gone else sign

    formula = f'IF(mark=gone,"","{sign}")'
    words_of = "The sign of the pole; nothing where there is no such string."
    FURTHER_STRING.add(Step(name=name, words=words_of, formula=formula, function=drawn, kind="text", guarded=False, single=True))


for _name, _text in (("plus", "+"), ("minus", "−")):
    _sign(_name, _text)
PIECE, OTHER_PIECE = (
    _printed("a piece that a word decides"),
    _printed("a piece that every other word decides"),
)


@PIECE.step(
    kind="text",
    words="The piece, where the value is the word.",
    formula='IF(value=wanted,text,"")',
)
def piece(value: str, wanted: str, text: str) -> str:
    """Return the piece, or nothing."""
    return text if value == wanted else ""


@OTHER_PIECE.step(
    name="piece",
    kind="text",
    words="The piece, where the value is another word.",
    formula='IF(value<>unwanted,text,"")',
)
def other_piece(value: str, unwanted: str, text: str) -> str:
    """Return the piece, or nothing."""
    return text if value != unwanted else ""
