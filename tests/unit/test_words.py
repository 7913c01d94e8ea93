"""The Spanish of the crews' sheets: every phrase has one, and pages read what is written down."""

import datetime as dt
import gettext
import re
from functools import cache
from io import BytesIO
from pathlib import Path

import pytest

from estimating.models import Estimate  # noqa: F401 - the models stand before their choices
from estimating.selectors.stored_words import SENTENCES, WORDS, known_sentence, place_words
from firm.measure.said import Said, in_words_of, joined
from firm.models import Attachment, Clearance, JobSite, UtilityAnswer
from firm.selectors.languages import speaking
from firm.word_files import mo_bytes, read_po
from scheduling.models import FenceJob, JobPhase, JobPhoto
from scheduling.starter import load_cure_table
from scheduling.templatetags.sheet_words import dated
from tests.phrases import ROOT, phrases

PO = ROOT / "locale/es/LC_MESSAGES/django.po"
FIELD = re.compile(r"%\(\w+\)s|\{\w+\}")


@cache
def spanish() -> dict[str, str]:
    return read_po(PO)


class TestCatalogue:
    def test_every_phrase_has_its_spanish(self) -> None:
        told = {
            *SENTENCES,
            *WORDS,
            *JobPhase.Kind.labels,
            *(name.lower() for name in JobPhase.Kind.labels),
            *JobPhoto.Subject.labels,
            *FenceJob.State.labels,
            *(name.lower() for name in FenceJob.State.labels),
            *JobSite.Soil.labels,
            *JobSite.Exposure.labels,
            *JobSite.DigMethod.labels,
            *JobSite.Spoil.labels,
            *Attachment.Kind.labels,
            *Clearance.Kind.labels,
            *UtilityAnswer.Answer.labels,
            *Clearance.State.labels,
            *(mix.cold_words for mix in load_cure_table().mixes),
        }
        found = phrases() | told
        assert len(found) > 400
        assert {one for one in found if not spanish().get(one)} == set()

    def test_a_translation_keeps_every_figure_of_its_phrase(self) -> None:
        for phrase, said in spanish().items():
            forms = phrase.split("\x04")[-1].split("\0")
            for form in said.split("\0"):
                assert set(FIELD.findall(form)) in [set(FIELD.findall(each)) for each in forms], (
                    phrase
                )

    def test_pages_read_what_the_translation_says(self) -> None:
        assert PO.with_suffix(".mo").read_bytes() == mo_bytes(spanish())

    def test_another_reader_of_the_format_finds_the_same(self) -> None:
        # Python's own reader of the format; two forms, the first for one alone (the manual of GNU
        # gettext gives nplurals=2; plural=n != 1 for Spanish).
        read = gettext.GNUTranslations(BytesIO(mo_bytes(spanish())))
        assert read.gettext("Locate ticket") == "Boleto de localización"
        assert read.pgettext("bay", "cut") == "cortado"
        one, many = "Load for %(posts)s post", "Load for %(posts)s posts"
        assert read.ngettext(one, many, 1) == "Carga para %(posts)s poste"
        assert read.ngettext(one, many, 2) == "Carga para %(posts)s postes"


class TestPoFile:
    def test_reads_contexts_plurals_and_texts_that_run_on(self, tmp_path: Path) -> None:
        file = tmp_path / "some.po"
        file.write_text(
            '# a note\nmsgctxt "bay"\nmsgid "cut"\nmsgstr "cortado"\n\n'
            'msgid "one"\nmsgid_plural "many"\nmsgstr[0] "uno"\nmsgstr[1] "muchos"\n\n'
            'msgid ""\n"a \\"b\\" "\n"c"\nmsgstr "d"\n'
        )
        assert read_po(file) == {
            "bay\x04cut": "cortado",
            "one\0many": "uno\0muchos",
            'a "b" c': "d",
        }


class TestSaid:
    def test_is_put_together_anew_from_its_parts(self) -> None:
        said = {"Signed on {day}.": "Firmado el {day}.", "Mon": "lun", "{a} {b}": "{b} {a}"}
        day = Said("{a} {b}", a=Said("Mon"), b=4)
        sentence = Said("Signed on {day}.", day=day)
        assert sentence == "Signed on Mon 4."
        assert in_words_of(sentence, lambda phrase: said.get(phrase, phrase)) == "Firmado el 4 lun."

    def test_plain_words_stay_as_they_are(self) -> None:
        assert in_words_of("Mon", str.upper) == "Mon"

    def test_sentences_in_a_row_leave_out_the_empty_ones(self) -> None:
        row = joined([Said("one"), "", Said("two")])
        assert row == "one two"
        assert in_words_of(row, lambda one: {"one": "uno"}.get(one, one)) == "uno two"
        assert joined(["", ""]) == ""


class TestStoredWords:
    @pytest.mark.parametrize(
        ("text", "said"),
        [
            ("line A, bays 1-4, 7", "línea A, tramos 1-4, 7"),
            ("line B, all", "línea B, todos"),
            ("36 in hole", "36 in de hoyo"),
            ("posts 1, 3 and 2 more", "postes 1, 3 y 2 más"),
        ],
    )
    def test_places_are_said_word_by_word(self, text: str, said: str) -> None:
        words = spanish()
        assert place_words(text) == text
        assert in_words_of(place_words(text), lambda one: words.get(one, one)) == said

    def test_a_stop_is_read_back_into_its_phrase(self) -> None:
        stored = "Bay 3 of line A is wider than the system allows."
        said = known_sentence(stored)
        assert said == stored
        assert in_words_of(said, lambda one: spanish().get(one, one)) == (
            "El tramo 3 de la línea A es más ancho de lo que permite el sistema."
        )

    def test_a_message_nobody_knows_stays(self) -> None:
        assert in_words_of(known_sentence("Something else."), str.upper) == "Something else."


@pytest.mark.parametrize(
    ("language", "said"),
    [("en", "Friday, November 27"), ("es", "viernes 27 de noviembre")],
)
def test_days_and_months_are_written_as_their_language_writes_them(
    language: str, said: str
) -> None:
    with speaking(language):
        assert dated(dt.date(2026, 11, 27), "l, F j") == said
