"""Reading a language file: a GNU gettext file (.po) made from the template `coiltoll.pot`.

A translation is plain text. It has to name the values of its English text and no others, and to be no longer
than a page takes; whatever is wrong is said, and nothing of the file is used.

References
----------
GNU gettext manual, "The Format of PO Files" and "Plural forms" (from memory).
"""

import io
import re
import unicodedata
from collections.abc import Iterator, Sequence
from gettext import GNUTranslations
from pathlib import Path
from typing import TYPE_CHECKING

from calibration.files.input_file import input_bytes
from calibration.said import PLACEHOLDER
from dashboard.texts.translate import Language

if TYPE_CHECKING:
    from babel.messages.catalog import Catalog

LARGEST_FILE = 2_000_000
"""Bytes of a language file."""
MOST_TEXTS, MOST_PLURALS = 5000, 9
MOST_SHOWN = 5
"""Problems of a file that are said."""
LONGER, ANYWAY = 3, 60
"""A translation may have so many times the letters of the English text, and so many more."""
CODE = re.compile(r"([a-z]{2,3})(?:[-_]([A-Z]{2}))?")
PLURAL = re.compile(r"(?:[n0-9\s?:&|=!<>()+*-]|%\s*[1-9])+")
"""A rule for plurals, without a division and without a remainder by 0."""


def read_language(path: Path) -> Language:
    """A language file.

    Parameters
    ----------
    path : Path
        Its place.

    Returns
    -------
    Language
        For `dashboard.texts.translate.in_language`; without the texts that are marked as fuzzy.

    Raises
    ------
    ValueError
        With what is wrong, a line each.
    OSError
        Where it cannot be read.
    """
    from babel.messages.mofile import write_mo

    catalogue = _parsed(path)
    code = CODE.fullmatch(catalogue.locale_identifier or "")
    if code is None:
        raise ValueError(f'{path}: a line such as "Language: es\\n" is expected in its header')
    problems = list(_problems(catalogue))
    if problems:
        more = len(problems) - MOST_SHOWN
        rest = [f"and {more} more"] if more > 0 else []
        raise ValueError("\n".join(f"{path}: {one}" for one in [*problems[:MOST_SHOWN], *rest]))
    catalogue.charset, catalogue.fuzzy = "utf-8", False
    compiled = io.BytesIO()
    write_mo(compiled, catalogue)
    compiled.seek(0)
    try:
        texts = GNUTranslations(compiled)
    except ValueError as error:  # the rule for plurals is read here
        raise ValueError(f"{path}: Plural-Forms: {error}") from None
    return Language("-".join(one for one in code.groups() if one), texts)


def _parsed(path: Path) -> "Catalog":
    """The file's texts as they are."""
    from babel.messages.catalog import Catalog
    from babel.messages.pofile import PoFileError, PoFileParser

    class FewPlurals(Catalog):
        """A catalogue that makes room for no more forms of a plural than there may be."""

        @property
        def num_plurals(self) -> int:
            return min(super().num_plurals, MOST_PLURALS + 1)

    if path.suffix.lower() != ".po":
        raise ValueError(f"{path}: ends in {path.suffix or 'nothing'}; .po is expected")
    content = input_bytes(path, LARGEST_FILE + 1)
    if len(content) > LARGEST_FILE:
        raise ValueError(f"{path}: at most {LARGEST_FILE // 1_000_000} MB are expected")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise ValueError(f"{path}: text in UTF-8 is expected") from None
    try:
        catalogue = FewPlurals()
        PoFileParser(catalogue, abort_invalid=True).parse(io.StringIO(text))
    except PoFileError as error:
        raise ValueError(f"{path}: a gettext file is expected, got {error}") from None
    except (ValueError, LookupError, TypeError, AttributeError, AssertionError):
        raise ValueError(f"{path}: a gettext file is expected") from None
    if len(catalogue) > MOST_TEXTS:
        raise ValueError(f"{path}: at most {MOST_TEXTS} texts are expected, got {len(catalogue)}")
    return catalogue


def _problems(catalogue: "Catalog") -> Iterator[str]:
    """Everything that is wrong with the translations, each with its line."""
    if not PLURAL.fullmatch(catalogue.plural_expr) or not 1 <= catalogue.num_plurals <= MOST_PLURALS:
        yield f"Plural-Forms: a rule such as (n != 1) is expected, got {catalogue.plural_expr[:60]!r}"
        return
    for message in catalogue:
        if not message.id or message.fuzzy:
            continue
        english = message.id if isinstance(message.id, tuple | list) else (message.id,)
        found = message.string if isinstance(message.string, tuple | list) else (message.string,)
        for one in found:
            wrong = _wrong(english, one) if one else ""
            if wrong:
                yield f"line {message.lineno}, {english[0][:40]!r}: {wrong}"


def _wrong(english: Sequence[str], text: str) -> str:
    """What is wrong with one translation; empty where nothing is."""
    known = {name for one in english for name in PLACEHOLDER.findall(one)}
    named = set(PLACEHOLDER.findall(text))
    missing = known - named - ({"number"} if len(english) > 1 else set())
    if missing:
        return f"{{{min(missing)}}} is missing"
    if named - known:
        return f"{{{min(named - known)}}} is not in the English text"
    if set("{}") & set(PLACEHOLDER.sub("", text)):
        return "a brace stands for nothing but a value, such as {name}"
    longest = LONGER * max(map(len, english)) + ANYWAY
    if len(text) > longest:
        return f"at most {longest} letters are expected, got {len(text)}"
    if any(unicodedata.category(one) in ("Cc", "Cs", "Cn", "Co") for one in text):
        return "plain text in one line is expected"
    return ""
