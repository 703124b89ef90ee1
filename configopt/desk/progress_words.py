"""What a search says of itself, in words for who waits for it."""

from __future__ import annotations

import re

#: Beginnings of what searches say, and what is shown instead; the rest of what they say is as good as it is.
_WORDS = (
    (re.compile(r"round (\d+): bounding .*"), r"narrowing down what could still be best, round \1"),
    (re.compile(r"checking with the model over .*"), "checking the choice in a second way"),
    (
        re.compile(r"(\d+) points, (\d+) zones still open"),
        r"\1 choices found, \2 gaps between them to look into",
    ),
)


def progress_words(text: str) -> str:
    """Words of a search as the page shows them.

    >>> progress_words("round 2: bounding 3,000 front footings, 80 wheels and 2,900 rear footings, 60 wheels")
    'narrowing down what could still be best, round 2'
    >>> progress_words("looking for a good choice to begin with")
    'looking for a good choice to begin with'
    """
    for pattern, words in _WORDS:
        found = pattern.fullmatch(text)
        if found is not None:
            return found.expand(words)
    return text
