"""Visits of a study kept in a file, so that a study of hours can be stopped and gone on with.

One JSON object: what the study is (its name, its seed), and the visits by their keys. A file of another study
is refused. The file is written whole, after every `EVERY` visits and at the end, even where the study is
interrupted.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, MutableMapping
from pathlib import Path
from types import TracebackType
from typing import Any, Generic, TypeVar

from calibration.files.atomic_file import write_whole

Visit = TypeVar("Visit")

EVERY = 20
"""Visits after which the file is written."""
LARGEST_FILE = 200_000_000
"""Largest file that is read [bytes]."""


class KeptVisits(MutableMapping[str, Visit], Generic[Visit]):
    """Visits by their keys, in memory and, where there is one, in a file.

    Used in a `with` block, at whose end the file is written.
    """

    def __init__(
        self,
        path: Path | None,
        study: Mapping[str, Any],
        read: Callable[[Any], Visit],
        shown: Callable[[Visit], Any],
    ) -> None:
        """Read what is there.

        Parameters
        ----------
        path : Path or None
            The file, there or not; None keeps the visits in memory alone.
        study : mapping
            What the visits belong to: a file of another study is refused.
        read, shown : callable
            From what JSON holds to a visit, and back.

        Raises
        ------
        ValueError
            Where the file is too large, is no file of a study, or is one of another study.
        """
        self._path, self._study, self._read, self._shown = path, dict(study), read, shown
        self._visits: dict[str, Visit] = {}
        self._unwritten = 0
        if path is not None and path.exists():
            self._visits = self._from_file(path)

    def _from_file(self, path: Path) -> dict[str, Visit]:
        if path.stat().st_size > LARGEST_FILE:
            raise ValueError(
                f"--keep: {path} is larger than {LARGEST_FILE} bytes; a file of a study is expected"
            )
        try:
            content = json.loads(path.read_bytes())
            study, visits = content["study"], content["visits"].items()
            found = {key: self._read(value) for key, value in visits} if study == self._study else None
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
            raise ValueError(f"--keep: {path} holds no visits of a study; a new file is expected") from None
        if found is None:
            raise ValueError(f"--keep: {path} holds visits of {study}; {self._study} is expected")
        return found

    def __getitem__(self, key: str) -> Visit:
        return self._visits[key]

    def __setitem__(self, key: str, visit: Visit) -> None:
        self._visits[key] = visit
        self._unwritten += 1
        if self._unwritten >= EVERY:
            self._write()

    def __delitem__(self, key: str) -> None:
        del self._visits[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._visits)

    def __len__(self) -> int:
        return len(self._visits)

    def __enter__(self) -> KeptVisits[Visit]:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, problem: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._unwritten:
            self._write()

    def _write(self) -> None:
        if self._path is not None:
            visits = {key: self._shown(visit) for key, visit in self._visits.items()}
            write_whole(self._path, json.dumps({"study": self._study, "visits": visits}).encode())
        self._unwritten = 0
