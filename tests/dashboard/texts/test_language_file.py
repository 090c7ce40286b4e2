"""Language files: read whole, or refused with what is wrong."""

from pathlib import Path

import pytest

from dashboard.texts.language_file import LARGEST_FILE, MOST_SHOWN, read_language
from dashboard.texts.translate import in_language, tr, tr_many
from tests.dashboard.texts.pseudo import HEADER, other, pseudo_file, quoted

POLISH = (
    'msgid ""\nmsgstr ""\n"Language: pl_PL\\n"\n'
    '"Plural-Forms: nplurals=3; plural=(n==1 ? 0 : n%10>=2 && n%10<=4 && "\n'
    '"(n%100<10 || n%100>=20) ? 1 : 2);\\n"\n\n'
    'msgid "{number} clean visit"\nmsgid_plural "{number} clean visits"\nmsgstr[0] "jedna wizyta"\n'
    'msgstr[1] "{number} wizyty"\nmsgstr[2] "{number} wizyt"\n'
)


def written(folder: Path, text: str, name: str = "words.po") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def entry(english: str, translation: str) -> str:
    return f"{HEADER}msgid {quoted(english)}\nmsgstr {quoted(translation)}\n"


def test_every_text_of_the_template_can_be_translated(tmp_path):
    language = read_language(pseudo_file(tmp_path))
    assert language.code == "eo"
    with in_language(language):
        assert tr("Finding") == other("Finding")
        assert tr("a text of nobody") == "a text of nobody"


def test_plural_forms_of_another_language(tmp_path):
    language = read_language(written(tmp_path, POLISH))
    assert language.code == "pl-PL"
    with in_language(language):
        found = [tr_many("{number} clean visit", "{number} clean visits", n) for n in (1, 2, 5, 12, 22)]
    assert found == ["jedna wizyta", "2 wizyty", "5 wizyt", "12 wizyt", "22 wizyty"]


def test_an_empty_or_fuzzy_translation_leaves_the_english(tmp_path):
    text = entry("Finding", "") + '\n#, fuzzy\nmsgid "Signed"\nmsgstr "{oops"\n'
    with in_language(read_language(written(tmp_path, text))):
        assert (tr("Finding"), tr("Signed")) == ("Finding", "Signed")


@pytest.mark.parametrize(
    ("translation", "wrong"),
    [
        ("von ihnen", "{share} is missing"),
        ("{share} von {other}", "{other} is not in the English text"),
        ("{share.__class__}", "{share} is missing"),
        ("{share} {share.__class__}", "a brace stands for nothing but a value"),
        ("{share} {share!r}", "a brace stands for nothing but a value"),
        ("{share} {share:>99999999}", "a brace stands for nothing but a value"),
        ("{share} {0}", "a brace stands for nothing but a value"),
        ("{share} {{", "a brace stands for nothing but a value"),
        ("{share}" + " lang" * 50, "letters are expected"),
        ("{share}\\n", "plain text in one line"),
        ("{share} \x07", "plain text in one line"),
    ],
)
def test_a_translation_that_would_not_do_is_refused(tmp_path, translation, wrong):
    text = entry("{share} of them", translation).replace("\\\\n", "\\n")
    with pytest.raises(ValueError, match=r"words\.po: line 6, '{share} of them'") as caught:
        read_language(written(tmp_path, text))
    assert wrong in str(caught.value)


@pytest.mark.parametrize("rule", ["n/0", "n%0", "n%n", "__import__('os')", "n**n", "n" * 3000, "(" * 500])
def test_a_plural_rule_that_is_none_is_refused(tmp_path, rule):
    text = f'msgid ""\nmsgstr ""\n"Language: de\\n"\n"Plural-Forms: nplurals=2; plural={rule};\\n"\n'
    with pytest.raises(ValueError, match=r"words\.po: "):
        read_language(written(tmp_path, text + '\nmsgid "a"\nmsgid_plural "b"\nmsgstr[0] "c"\n'))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "msgid",
        'msgid "a"\nmsgstr',
        'msgid "a\nmsgstr "b"\n',
        '[unit]\nname = "a case"\n',
        HEADER.replace("eo", "../../etc/passwd"),
        HEADER.replace("eo", ""),
        HEADER.replace("nplurals=2", "nplurals=many"),
        HEADER.replace("nplurals=2", "nplurals=999999999999")
        + 'msgid "a"\nmsgid_plural "b"\nmsgstr[0] "c"\nmsgstr[1] "d"\n',
        HEADER.replace('"Language', '"POT-Creation-Date: yesterday\\n"\n"Language'),
        HEADER.replace('"Language', '"Content-Type: text/plain; charset=rot13\\n"\n"Language') + "msg",
        'msgid "a"\nmsgid_plural "b"\nmsgstr[99999999999] "c"\n',
        'msgctxt "a"\n',
        "\x00" * 100,
    ],
)
def test_what_is_no_language_file_is_refused(tmp_path, text):
    with pytest.raises(ValueError, match=r"words\.po: "):
        read_language(written(tmp_path, text))


def test_size_ending_and_letters_are_checked_first(tmp_path):
    with pytest.raises(ValueError, match=r"ends in \.mo; \.po is expected"):
        read_language(written(tmp_path, HEADER, "words.mo"))
    with pytest.raises(ValueError, match="at most 2 MB"):
        read_language(written(tmp_path, HEADER + "#" * LARGEST_FILE))
    latin = tmp_path / "latin.po"
    latin.write_bytes(entry("Finding", "Prüfung").encode("latin-1"))
    with pytest.raises(ValueError, match="text in UTF-8 is expected"):
        read_language(latin)
    with pytest.raises(OSError, match="none"):
        read_language(tmp_path / "none.po")


def test_many_problems_are_counted(tmp_path):
    bad = "".join(f'msgid "{{share}} of {n}"\nmsgstr "{n}"\n\n' for n in range(MOST_SHOWN + 3))
    with pytest.raises(ValueError, match="and 3 more") as caught:
        read_language(written(tmp_path, HEADER + bad))
    assert str(caught.value).count("\n") == MOST_SHOWN
