"""The panes around the sheet: shelf, part form, readings, findings, start page, help.

They show the circuit and change it through `editor.undo_commands` only. Gestures on the
sheet and the drawing of symbols are not here.
"""
