"""Text as HTML: nothing in it takes effect, and a number is not parted from its per cent."""

import html

from dashboard.results.figures import Struck


def escape(text: str) -> str:
    """Text for the inside of an element or of an attribute in quotes.

    Parameters
    ----------
    text : str
        Any text, such as a name from a case file.

    Returns
    -------
    str
        HTML that shows it as it is.
    """
    return html.escape(text).replace(" %", "\u00a0%")


def cell(text: str) -> str:
    """Text of a table's cell: a suspect number struck through, the supported one beside it.

    Parameters
    ----------
    text : str
        Any text, or a `Struck`.

    Returns
    -------
    str
        HTML.
    """
    if not isinstance(text, Struck):
        return escape(text)
    return f'<s title="suspect reading">{escape(text.read)}</s> <b>{escape(text.supported)}</b>'
