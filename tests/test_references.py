"""The bibliography."""

from __future__ import annotations

import re

import pytest

from configopt.errors import UsageError
from configopt.references import REFERENCES, cite


@pytest.mark.parametrize("key", sorted(REFERENCES))
def test_a_key_is_plain_and_its_citation_is_a_sentence_of_more_than_the_key(key: str) -> None:
    citation = cite(key)
    assert re.fullmatch(r"[a-z][a-z0-9_]*", key)
    assert citation == " ".join(citation.split())
    assert citation.endswith(".")
    assert len(citation) > 20
    assert REFERENCES[key].key == key


@pytest.mark.parametrize(
    "key",
    [
        "smiley_horne_1960",
        "bradley_1996",
        "wong_2008",
        "bekker_1969",
        "janosi_hanamoto_1961",
        "iso_8608_2016",
        "un_r75",
        "iso_5751_2",
        "iso_5775",
        "jis_d_4215",
        "cossalter_2006",
        "shigley_8",
        "ford_2018",
        "moore_2012",
        "rowland_1975",
        "brixius_1987",
        "asabe_d497",
        "cfr_86_529",
        "directive_93_14",
        "un_r78",
        "noon_1994",
    ],
)
def test_the_works_on_which_the_models_rest_are_there(key: str) -> None:
    assert key in REFERENCES


def test_no_work_is_listed_twice() -> None:
    citations = [reference.citation for reference in REFERENCES.values()]
    assert len(set(citations)) == len(citations)


def test_a_key_that_names_a_year_cites_that_year() -> None:
    for key, reference in REFERENCES.items():
        year = re.search(r"_((?:19|20)[0-9]{2})$", key)
        assert year is None or year.group(1) in reference.citation, key


def test_an_unknown_key_is_refused_with_the_nearest_keys() -> None:
    with pytest.raises(UsageError, match=r'there is no "wong_2007" in the bibliography; did you mean wong_2008'):
        cite("wong_2007")


def test_a_key_like_no_other_is_refused_with_the_place_of_the_list() -> None:
    with pytest.raises(UsageError, match=r"keys are listed in configopt/references\.py"):
        cite("zzzzzzzz")
