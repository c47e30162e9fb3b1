"""What the pointer and the keys do on the canvas, one class per gesture.

A gesture previews on the canvas and ends in one undoable command, or in nothing.
"""
