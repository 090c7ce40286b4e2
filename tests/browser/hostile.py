"""A unit whose texts are attacks on the page that shows them, and a listener for what a page asks for."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path

from calibration.case.file import read_case
from calibration.case.records import Case

CASES = Path(__file__).resolve().parents[2] / "cases"


@contextmanager
def listener() -> Iterator[tuple[int, list[str]]]:
    """A server on a free port of this computer: its port, and the paths it was asked for."""
    asked: list[str] = []

    class Listening(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            self.send_response(204)
            self.end_headers()

        def log_message(self, *_: object) -> None:
            pass

    server = HTTPServer(("127.0.0.1", 0), Listening)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield server.server_port, asked
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def hostile_text(word: str, port: int) -> str:
    """A text with everything that Markdown, HTML, Plotly or a formula would act on."""
    place = f"http://127.0.0.1:{port}/{word}"
    return (
        f"{word} ![x]({place}.png) <img src={place}-tag.png onerror=alert(1)> [link]({place}) {place}-bare "
        f"www.a-{word}.example {word}@a.example $x^2$ :material/home: :red[red] :smile: :streamlit: -> -- "
        "<b>bold</b> <a href=x>a</a> &lt; &#60; %{x} `code` **strong** #1 |a|b| ~~no~~ \\d \\"
    )


def hostile_case(port: int) -> Case:
    """The demo with hostile texts, two clean visits and two as found, so that every chooser is there."""
    demo = read_case(CASES / "demo.toml")
    visits = [
        replace(
            visit,
            label=hostile_text(f"label{number}{place}", port),
            notes=hostile_text(f"notes{number}{place}", port),
        )
        for place, visit in enumerate(demo.visits)
        for number in (1, 2)
    ]
    return replace(demo, unit=replace(demo.unit, name=hostile_text("name", port)), visits=tuple(visits))
