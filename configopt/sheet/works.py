"""The list of sources: every work once, with the places in it that are cited."""

from __future__ import annotations

from string import ascii_lowercase


class Works:
    """Works in the order in which they are first cited.

    All are cited before the first is labelled, for a letter is only needed where a work is cited at several places.

    >>> works = Works()
    >>> works.add("A. Author, A Book, 1990.", "Chapter 2.")
    >>> works.add("Own derivation.")
    >>> works.add("A. Author, A Book, 1990.", "Table 3.")
    >>> works.label("A. Author, A Book, 1990.", "Table 3."), works.label("Own derivation.")
    ('1b', '2')
    >>> works.texts()
    ('A. Author, A Book, 1990. (a) Chapter 2. (b) Table 3.', 'Own derivation.')
    """

    def __init__(self) -> None:
        self._places: dict[str, list[str]] = {}

    def add(self, work: str, where: str = "") -> None:
        """Cite a work, as a whole or at a place."""
        places = self._places.setdefault(work, [])
        if where and where not in places:
            places.append(where)

    def label(self, work: str, where: str = "") -> str:
        """Number of a work, with the letter of the place where it has several."""
        places = self._places[work]
        number = str(list(self._places).index(work) + 1)
        return number if not where or len(places) < 2 else f"{number}{ascii_lowercase[places.index(where)]}"

    def texts(self) -> tuple[str, ...]:
        """The list, in the order of its numbers."""
        return tuple(
            " ".join(
                [
                    work,
                    *(
                        where if len(places) < 2 else f"({ascii_lowercase[at]}) {where}"
                        for at, where in enumerate(places)
                    ),
                ]
            )
            for work, places in self._places.items()
        )
