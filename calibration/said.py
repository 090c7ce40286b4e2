"""Words of a result that can be said in another language.

A result says what it rests on in English, such as the visit that its level is from. `said` keeps the sentence
and its values apart, so that the dashboard finds the sentence in a language file; as text it is the English.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

PLACEHOLDER = re.compile(r"\{([a-z][a-z_0-9]*)\}")
"""What a value is put in place of, and all that braces may stand for in a text."""


class Said(str):
    """An English text that knows its parts.

    Attributes
    ----------
    english : str
        With a `{name}` for every value.
    values : mapping of str to object
        By name; one that is `Said` itself is said in the other language too.
    """

    english: str
    values: Mapping[str, object]

    def __new__(cls, english: str, values: Mapping[str, object]) -> Said:
        """Text and parts."""
        made = super().__new__(cls, filled(english, values))
        made.english, made.values = english, dict(values)
        return made

    def __reduce__(self) -> tuple[type[Said], tuple[str, Mapping[str, object]]]:
        """For copies."""
        return Said, (self.english, self.values)


def said(english: str, /, **values: object) -> Said:
    """A text with its values.

    Parameters
    ----------
    english : str
        With a `{name}` for every value.
    **values
        What stands for the names, as it is to be read.

    Returns
    -------
    Said
    """
    return Said(english, values)


def filled(text: str, values: Mapping[str, object]) -> str:
    """A text with values for its names; nothing else in it means anything.

    Parameters
    ----------
    text : str
        With a `{name}` for every value.
    values : mapping of str to object
        By name. Without any the text stays as it is.

    Returns
    -------
    str

    Raises
    ------
    KeyError
        If the text has a name without a value.
    """
    return PLACEHOLDER.sub(lambda found: str(values[found[1]]), text) if values else text
