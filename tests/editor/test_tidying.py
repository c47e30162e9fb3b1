"""Cyclic garbage is collected in the thread of the windows, and nowhere else."""

import gc
import threading
import weakref

from editor.tidying import Tidying


class Loop:
    """Refers to itself, so that only the collector takes it away."""

    def __init__(self):
        self.itself = self


def test_garbage_goes_by_the_timer_and_not_in_a_thread(qtbot, qapp):
    """A thread that allocates much leaves it; the timer takes it."""
    tidying = Tidying(qapp)
    lost = weakref.ref(Loop())
    thread = threading.Thread(target=lambda: [Loop() for _ in range(20_000)])
    thread.start()
    thread.join()
    assert lost() is not None
    assert gc.get_count()[0] > gc.get_threshold()[0]
    tidying.collect()
    assert lost() is None
    tidying._timer.stop()
    tidying.deleteLater()
    gc.unfreeze()
