"""Code pages, against the codecs of Python's standard library as reference."""

import pytest

from analytics.catalogue import load_catalogue
from analytics.intake.cells.vocabulary import column_names
from analytics.intake.source.codepage import codepage, spelled

NAMES = sorted(
    {name for names in column_names("sets").values() for name in names}
    | {name for exercise in load_catalogue().exercises.values() for name in (exercise.name, *exercise.names)}
)
FRENCH = "Développé couché;80\nTirage menton;40\nÉlévations latérales;12\n"
GERMAN = "Übung;Gewicht\nBankdrücken;80\nGroße Runde;0\n"
SPANISH = "Sentadilla búlgara;20\nJalón al pecho;55\nElevación;10\n"
PORTUGUESE = "Elevação lateral;10\nFlexão;0\nTríceps;25\n"
ITALIAN = "Panca più stretta;60\nperché stanco;0\n"
POLISH = "Przysiad ze sztangą;100\nWyciskanie leżąc;80\nŁydki;60\n"
PUNCTUATION = "¿bien? – l’haltère „schwer“ ‡ 20 m³, Bank¹ 80 €;œuf\n"


@pytest.mark.parametrize("text", [FRENCH, GERMAN, SPANISH, PORTUGUESE, ITALIAN])
def test_old_mac_letters_are_told_from_western_ones(text):
    for codec in ("cp1252", "mac_roman"):
        raw = text.encode(codec)
        assert codepage(raw)[0] == codec
        assert spelled(raw, codepage(raw)[0]) == text


def test_central_european_letters_are_told_by_those_inside_of_words():
    raw = POLISH.encode("cp1250")
    assert spelled(raw, codepage(raw)[0]) == POLISH


def test_western_signs_between_words_are_no_letters_of_another_page():
    assert codepage(PUNCTUATION.encode("cp1252"))[0] == "cp1252"


@pytest.mark.parametrize("apart", [";", "\n", " "])
def test_no_name_that_the_loader_knows_is_taken_for_one_of_another_page(apart):
    text = apart.join(NAMES)
    raw = text.encode("cp1252", errors="ignore")
    assert codepage(raw)[0] == "cp1252"
    assert spelled(raw, "cp1252") == raw.decode("cp1252")


def test_bytes_that_the_page_leaves_empty_are_kept():
    assert spelled(b"x \x81 y", "cp1252") == "x \x81 y"
