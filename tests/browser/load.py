"""Many people at once: `python -m tests.browser.load` prints how the app bears 20 sessions for 40 s.

`--sessions 30 --seconds 90` asks for more. Each session speaks to the app as a browser does, over its own
socket on this computer, has a unit of its own open, and moves the slider of the blocked face. Every answer is
compared with what the model says for that unit and that share, so that a mix-up of two people's units would
be seen; the time to the answer and the memory of the program are printed.
"""

import argparse
import asyncio
import os
import re
import sys
import tempfile
import time
from dataclasses import dataclass, field, replace
from html import unescape
from pathlib import Path
from statistics import median

from streamlit.proto.BackMsg_pb2 import BackMsg
from streamlit.proto.ForwardMsg_pb2 import ForwardMsg
from websockets.asyncio.client import ClientConnection, connect

from calibration.case.file import read_case, write_case
from calibration.case.records import Case
from calibration.clean_fit.baseline import baseline_of
from dashboard.commands.demo import DEMO_CASE
from dashboard.results import prediction
from dashboard.workspace import with_title
from tests.browser.served import started

SESSIONS, SECONDS = 20, 40.0
HIGHEST_SHARE = 80  # where the slider of the page ends [%]
SHARES = tuple(range(4, HIGHEST_SHARE + 1))  # blocked shares that the sliders are moved to [%]
STRIDE = 17  # places from one to the next, so that none comes twice before all have
PAUSE = 1.0  # between two moves of one person [s]
LONGEST_ANSWER = 60.0  # given up after [s]
WANTED_ANSWER, WANTED_SLOWEST = 1.0, 10.0  # of all answers, the middle and the slowest [s]
WANTED_GROWTH = 0.05  # of memory over the second half [-]


def unit_of(number: int) -> Case:
    """The demo with a name and a compressor power of its own."""
    demo = read_case(DEMO_CASE)
    visits = tuple(
        replace(visit, outdoor_power=(visit.outdoor_power or 0.0) * (1.0 + 0.004 * number))
        for visit in demo.visits
    )
    return replace(with_title(demo, f"Unit {number}"), visits=visits)


def expected_strips(case: Case) -> dict[int, str]:
    """What the strip says at each share, from the model itself."""
    weather = prediction.weather_of(case, case.found_visits[-1])
    levels = prediction.fouling_levels(
        baseline_of(case), weather, [share / 100.0 for share in SHARES], "US", {}
    )
    found = {}
    for share, level in zip(SHARES, levels, strict=True):
        change = next(one for one in level.changes if one.key == "eer_change")
        assert isinstance(change.value, float) and change.low is not None and change.high is not None
        found[share] = (
            f"{-change.value:.1f} % of the clean unit's EER is lost "
            f"({-change.high:.1f} to {-change.low:.1f} %)"
        )
    return found


@dataclass
class Session:
    """One person's tab.

    Attributes
    ----------
    name : str
        File of the unit that is open.
    strips : dict of int to str
        What the page must say at each share.
    opening : float
        From opening the page to the end of it [s].
    times : list of float
        From moving the slider to the answer [s].
    late : int
        Moves in the second half.
    wrong : list of str
        Answers that are not those of this unit.
    """

    name: str
    strips: dict[int, str]
    opening: float = 0.0
    times: list[float] = field(default_factory=list)
    late: int = 0
    wrong: list[str] = field(default_factory=list)
    slider: str = ""
    fragment: str = ""

    async def run(self, address: str, halfway: asyncio.Barrier, seconds: float) -> None:
        """Open the page, move the slider, wait for the others in the middle, move it again."""
        async with connect(address, subprotocols=["streamlit"], max_size=None) as socket:
            start = time.perf_counter()
            await socket.send(self._asked(None))
            await self._answer(socket)
            self.opening = time.perf_counter() - start
            await self._moved(socket, 0.5 * seconds)
            await halfway.wait()
            before = len(self.times)
            await self._moved(socket, 0.5 * seconds)
            self.late = len(self.times) - before

    async def _moved(self, socket: ClientConnection, seconds: float) -> None:
        """Move the slider and read the answer, again and again for a time."""
        end = time.perf_counter() + seconds
        while time.perf_counter() < end:
            await asyncio.sleep(PAUSE)
            share = SHARES[STRIDE * len(self.times) % len(SHARES)]
            start = time.perf_counter()
            await socket.send(self._asked(share))
            told = await self._answer(socket)
            self.times.append(time.perf_counter() - start)
            if self.strips[share] not in told:
                self.wrong.append(f"{self.name} at {share} %: {told[:120]}")

    def _asked(self, share: int | None) -> bytes:
        message = BackMsg()
        state = message.rerun_script
        state.query_string = f"unit={self.name}"
        state.page_name = "fouling"
        if share is not None:
            state.fragment_id = self.fragment
            widget = state.widget_states.widgets.add(id=self.slider)
            widget.double_array_value.data.append(float(share))
        return bytes(message.SerializeToString())

    async def _answer(self, socket: ClientConnection) -> str:
        """Text of everything that one run of the page writes."""
        told = []
        while True:
            message = ForwardMsg.FromString(await asyncio.wait_for(socket.recv(), LONGEST_ANSWER))
            element = message.delta.new_element
            if element.WhichOneof("type") == "html":
                told.append(unescape(element.html.body))
            if element.WhichOneof("type") == "slider" and element.slider.label.startswith("Condenser face"):
                self.slider, self.fragment = element.slider.id, message.delta.fragment_id
            if message.WhichOneof("type") == "script_finished":
                return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", " ".join(told)))


def memory(process: int) -> float:
    """Memory that a process holds [MB]; nothing where the system does not tell."""
    try:
        status = Path(f"/proc/{process}/status").read_text(encoding="ascii")
    except OSError:
        return float("nan")
    found = re.search(r"VmRSS:\s+(\d+) kB", status)
    return int(found[1]) / 1024.0 if found else float("nan")


def processor_time(process: int) -> float:
    """Processor time that a process has used [s]; nothing where the system does not tell."""
    try:
        fields = Path(f"/proc/{process}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    except OSError:
        return float("nan")
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


async def crowd(
    address: str, process: int, sessions: list[Session], seconds: float
) -> tuple[float, float, float]:
    """Let all sessions run at once; memory halfway and at the end [MB], processor time from there [s]."""
    halfway = asyncio.Barrier(len(sessions) + 1)
    running = [asyncio.create_task(session.run(address, halfway, seconds)) for session in sessions]
    waiting = asyncio.create_task(halfway.wait())
    await asyncio.wait([*running, waiting], return_when=asyncio.FIRST_COMPLETED)
    middle, spent = memory(process), processor_time(process)
    await asyncio.gather(*running)
    return middle, memory(process), processor_time(process) - spent


def main() -> int:
    """Print the figures; 1 where something is mixed up, too slow or grows."""
    asked = argparse.ArgumentParser(prog="python -m tests.browser.load", description=__doc__)
    asked.add_argument("--sessions", type=int, default=SESSIONS, help="how many people at once")
    asked.add_argument("--seconds", type=float, default=SECONDS, help="for how long")
    given = asked.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "units"
        folder.mkdir()
        sessions = []
        for number in range(1, given.sessions + 1):
            case = unit_of(number)
            write_case(case, folder / f"unit-{number}.toml")
            sessions.append(Session(f"unit-{number}.toml", expected_strips(case)))
        with started(folder) as (address, process):
            socket = address.replace("http", "ws") + "/_stcore/stream"
            middle, end, spent = asyncio.run(crowd(socket, process, sessions, given.seconds))
    times = sorted(time for session in sessions for time in session.times)
    wrong = [one for session in sessions for one in session.wrong]
    print(f"{given.sessions} sessions, {given.seconds:.0f} s, {len(times)} moves of a slider")
    print(
        f"answer: median {median(times):.2f} s (wanted {WANTED_ANSWER:.1f} s), "
        f"19 of 20 within {times[int(0.95 * len(times))]:.2f} s, "
        f"slowest {times[-1]:.2f} s (wanted {WANTED_SLOWEST:.0f} s)"
    )
    openings = sorted(session.opening for session in sessions)
    print(f"pages opened, all at once: median {median(openings):.2f} s, slowest {openings[-1]:.2f} s")
    late = max(sum(session.late for session in sessions), 1)
    print(f"processor time of the second half: {spent:.1f} s, {1000 * spent / late:.0f} ms a move")
    print(f"answers of another unit: {len(wrong)}")
    print(f"memory: {middle:.0f} MB after the first half, {end:.0f} MB at the end")
    for one in wrong[:5]:
        print(one)
    quick = median(times) <= WANTED_ANSWER and times[-1] <= WANTED_SLOWEST
    return 0 if not wrong and quick and not end > middle * (1 + WANTED_GROWTH) else 1


if __name__ == "__main__":
    sys.exit(main())
