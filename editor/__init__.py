"""What people see and touch: the window, its panes and gestures, and the command line.

Qt lives here and nowhere else. Nothing is computed here: the editor asks `analysis`, which
knows the circuit, and paints the strokes that `symbols` declares.
"""
