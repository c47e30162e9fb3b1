"""What holds for every test: Qt draws without a screen, whoever runs the tests and wherever."""

import os

# Before anything imports Qt. STANDPIPE_TEST_PLATFORM=xcb shows the windows on a real or virtual
# screen; the platform of the person's own session is not used, lest windows pop up over their work.
os.environ["QT_QPA_PLATFORM"] = os.environ.get("STANDPIPE_TEST_PLATFORM", "offscreen")


def pytest_configure() -> None:
    """Compile the solver before several processes of the tests would each do it."""
    from analysis.preparation import is_prepared, prepare

    if not is_prepared():
        prepare()
