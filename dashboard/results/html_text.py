"""Text as HTML: nothing in it takes effect, and a number is not parted from its per cent."""

import html


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
