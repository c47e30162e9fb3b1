"""The report written in a process of its own, so that the window stays usable meanwhile.

This module loads no Qt: the process imports it before it tries the failures, whose workers
are forked, and they may be forked only while Qt is not loaded.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from hashlib import sha256
from typing import TYPE_CHECKING

from analysis.apart import Apart, Progress, Tell
from analysis.circuit import Circuit
from analysis.errors import CircuitError
from editor.report_gathering import gather_report

if TYPE_CHECKING:
    from analysis.failures import FailureTable

_UNTIL = {"failures": 0.8, "procedures": 0.95}
"""Which share of all is done when a piece of the work is; laying out is the rest."""


class ReportApart(Apart):
    """The bytes of a report, `form` being `pdf` or `html`; the others as `gather_report`."""

    def __init__(
        self,
        circuit: Circuit,
        tell: Tell,
        *,
        form: str,
        file_name: str,
        with_runs: bool,
        table: FailureTable | None = None,
    ) -> None:
        work = partial(_report_bytes, form, file_name, with_runs, table)
        super().__init__(circuit, work, tell, what="The contents of the report")


def _report_bytes(
    form: str,
    file_name: str,
    with_runs: bool,
    table: FailureTable | None,
    circuit: Circuit,
    progress: Progress,
) -> bytes:
    from analysis.circuit_file import circuit_text

    report = gather_report(
        circuit,
        file_name=file_name,
        # of the file as it is when it is saved now
        file_checksum=sha256(circuit_text(circuit).encode("utf-8")).hexdigest(),
        with_runs=with_runs,
        table=table,
        progress_of=_Shares(progress).of,
    )
    # it draws for no screen, wherever the window is shown
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    try:
        from editor.report_pages import report_html, report_pdf
        from editor.sheet_export import start_drawing
    except ImportError as error:
        raise CircuitError(f"Qt cannot be loaded ({error}); run .ci/setup") from error
    application = start_drawing()
    data = report_pdf(report) if form == "pdf" else report_html(report)
    del application
    return data


class _Shares:
    """Turns the share done of each piece of the work into the share of all."""

    def __init__(self, progress: Progress) -> None:
        self._progress = progress
        self._done = 0.0

    @contextmanager
    def of(self, what: str) -> Iterator[Progress]:
        """What one piece is to call; pieces that are left out are done."""
        start, end = self._done, _UNTIL[what]
        yield lambda share: self._progress(start + share * (end - start))
        self._done = end
        self._progress(end)
