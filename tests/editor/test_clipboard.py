"""The clipboard: what is copied outlives the window, and the program ends in good order."""

import subprocess
import sys

_COPY_AND_END = """
from PySide6.QtWidgets import QApplication
from analysis import Circuit
from editor.clipboard import copy_to_clipboard
application = QApplication([])
circuit = Circuit()
circuit.add("plug", id="0Z1")
copy_to_clipboard(circuit)
"""


def test_a_program_that_copied_a_part_ends_without_a_crash():
    """The clipboard is torn down after Python is gone; nothing of Python's may be left in it."""
    ended = subprocess.run(
        [sys.executable, "-c", _COPY_AND_END], capture_output=True, text=True, timeout=60
    )
    assert (ended.returncode, ended.stderr) == (0, "")
