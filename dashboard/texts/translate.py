"""The English text, or what a language file has for it.

Texts are written in English where they are decided, as `tr("Cleaning saves {money} a year.", money=money)`,
and looked up when they are used, never when a module is imported. Without a language, and for a text that its
file lacks, the English stands. Units, names and keys of files are no texts.

The language belongs to the code inside `in_language` (a context variable): other threads, such as those of
the pages, do not see it.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from gettext import NullTranslations

from calibration.said import Said, filled


@dataclass(frozen=True)
class Language:
    """A language to write in.

    Attributes
    ----------
    code : str
        Of ISO 639, with a country of ISO 3166 where it matters, such as "de" or "pt-BR".
    catalogue : gettext.NullTranslations
        Its texts.
    """

    code: str
    catalogue: NullTranslations


ENGLISH = Language("en", NullTranslations())
_LANGUAGE: ContextVar[Language] = ContextVar("language", default=ENGLISH)


@contextmanager
def in_language(language: Language) -> Iterator[None]:
    """The language of all texts that are made inside, in this thread.

    Parameters
    ----------
    language : Language
        `ENGLISH`, or what `dashboard.texts.language_file.read_language` read.
    """
    before = _LANGUAGE.set(language)
    try:
        yield
    finally:
        _LANGUAGE.reset(before)


def language_code() -> str:
    """Code of the language in use."""
    return _LANGUAGE.get().code


def tr(text: str, /, **values: object) -> str:
    """A text in the language in use.

    Parameters
    ----------
    text : str
        In English, with a `{name}` for every value; or what `calibration.said.said` made.
    **values
        What stands for the names, as it is to be read.

    Returns
    -------
    str
    """
    if isinstance(text, Said):
        values = {name: tr(one) if isinstance(one, Said) else one for name, one in text.values.items()}
        text = text.english
    return filled(_LANGUAGE.get().catalogue.gettext(text) if text else "", values)


def tr_many(one: str, many: str, number: int, /, **values: object) -> str:
    """A text that depends on a number, in the language in use.

    Parameters
    ----------
    one, many : str
        In English, for 1 and for every other number; `{number}` stands for the number.
    number : int
        How many.
    **values
        What stands for the other names; `number` too where it is to be written in another way.

    Returns
    -------
    str
    """
    text = _LANGUAGE.get().catalogue.ngettext(one, many, number)
    return filled(text, {"number": number, **values})


def capital(text: str) -> str:
    """A text with its first letter as a capital, for the head of a sentence."""
    return f"{text[:1].upper()}{text[1:]}"
