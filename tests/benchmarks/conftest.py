"""What the benchmarks of the window have in common."""

import pytest

from editor.main_window import MainWindow


@pytest.fixture
def window(qtbot):
    """A shown window; what is changed in it is not asked about when it closes."""
    made = MainWindow()
    qtbot.addWidget(made, before_close_func=lambda w: w.document.stack.setClean())
    with qtbot.waitExposed(made):
        made.show()
    return made
