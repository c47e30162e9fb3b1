"""The sheet on screen: view, scene and items, and the pressures shown on the lines.

Items paint and hold no domain logic; what a gesture means is decided in `editor.gestures`.
"""
