"""Levers and switches, worked on the symbol itself or from the keyboard."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from analysis.circuit import Component
from analysis.resolved import position_of, resolve_element
from analysis.routing import Point
from editor.looks import look_of
from symbols.kind import Zone, place

if TYPE_CHECKING:
    from editor.canvas.canvas import Canvas


def zone_at(canvas: Canvas, identifier: str, at: Point) -> Zone | None:
    """The zone of a component under a point of the sheet."""
    component = canvas.levers.circuit.components[identifier]
    x, y = unplaced(at, canvas.sheet.place_of(component), component.turn, component.mirror)
    for zone in component.declared.zones(look_of(canvas.levers.circuit, component)):
        left, top, width, height = zone.rectangle
        if left <= x <= left + width and top <= y <= top + height:
            return zone
    return None


def unplaced(at: Point, origin: Point, turn: int, mirror: bool) -> Point:
    """The point of the unturned symbol that lies at a point of the sheet."""
    offset = at[0] - origin[0], at[1] - origin[1]
    x, y = place(offset, (0, 0), -turn % 360, False)
    return (-x, y) if mirror else (x, y)


def work_zone(canvas: Canvas, identifier: str, at: Point, was_selected: bool) -> None:
    """Work the lever under a click.

    A lever moves at the first click. What the whole symbol would switch (a pump, a fuse)
    is switched by a click on the selected symbol only, so that selecting does not stop it.
    """
    zone = zone_at(canvas, identifier, at)
    if zone is None or (zone.state != "position" and not was_selected):
        return
    component = canvas.levers.circuit.components[identifier]
    value = zone.value if zone.value is not None else next_value(canvas, component, zone.state)
    set_state(canvas, component, zone.state, value)


def next_value(canvas: Canvas, component: Component, state: str, step: int = 1) -> Any:
    """The next choice of a state, round and round; of a flag, the other one."""
    declared = component.declared.states[state]
    now = resolve_element(component).state[state]
    if declared.dimension == "flag":
        return not now
    choices = declared.choices
    if state == "position":
        now = position_of(canvas.levers.circuit, component)
    return choices[(choices.index(now) + step) % len(choices)]


def set_state(canvas: Canvas, component: Component, state: str, value: Any) -> None:
    """Set a state by the word the user would write: of the drawing, or of what is looked at."""
    if resolve_element(component).state[state] == value:
        _say_why_it_stays(canvas, component, state, value)
        return
    refusal = canvas.levers.refusal(component, state)
    if refusal:
        canvas.say(refusal, True)
        return
    written = component.labels.get(value, value) if state == "position" else value
    words = _words(component, state, value)
    canvas.levers.put(component.id, state, written, words)
    canvas.say(words)


def _say_why_it_stays(canvas: Canvas, component: Component, state: str, value: Any) -> None:
    if state == "position" and position_of(canvas.levers.circuit, component) != value:
        cylinder = component.settings.get("tripped_by")
        canvas.say(f"{component.id} is held by the roller that {cylinder} trips")


def _words(component: Component, state: str, value: Any) -> str:
    if state == "position":
        return f"{component.id} to {component.labels.get(value, value)}"
    if state == "running":
        return f"{'Start' if value else 'Stop'} {component.id}"
    if state == "closed":
        return f"{'Close' if value else 'Open'} {component.id}"
    return f"Set {state.replace('_', ' ')} of {component.id}"


def hint(canvas: Canvas, identifier: str, at: Point) -> str:
    """What a click here would do, for the status line."""
    component = canvas.levers.circuit.components[identifier]
    zone = zone_at(canvas, identifier, at)
    if zone is None:
        return ""
    refusal = canvas.levers.refusal(component, zone.state)
    if refusal:
        return refusal
    if zone.state == "position":
        value = zone.value or next_value(canvas, component, "position")
        if value == position_of(canvas.levers.circuit, component):
            return f"{component.id} stands at {component.labels.get(value, value)}"
        return f"Click: {_words(component, 'position', value)}"
    words = _words(component, zone.state, next_value(canvas, component, zone.state))
    if identifier in canvas.selection.ids():
        return f"Click: {words.lower() if words[1].islower() else words}"
    return f"Click to select, click again: {words}"


def work_by_key(canvas: Canvas, step: int) -> None:
    """Work the lever or switch of every selected component."""
    worked = False
    for identifier in canvas.selection.ids():
        component = canvas.levers.circuit.components.get(identifier)
        state = component and switch_of(component)
        if component is not None and state:
            set_state(canvas, component, state, next_value(canvas, component, state, step))
            worked = True
    if not worked:
        canvas.say("Select a valve with a lever, a pump or a fuse first")


def switch_of(component: Component) -> str:
    """The state that a lever or switch of the component works; empty if it has none."""
    for state in ("position", "running", "closed"):
        if state in component.declared.states:
            return state
    return ""


def has_switch(canvas: Canvas) -> bool:
    """Whether a lever or switch of what is selected can be worked."""
    components = canvas.levers.circuit.components
    chosen = (components.get(identifier) for identifier in canvas.selection.ids())
    return any(component is not None and switch_of(component) for component in chosen)


def work_forward(canvas: Canvas) -> None:
    """Put the levers of what is selected one position on; start, stop, open, close."""
    work_by_key(canvas, 1)


def work_back(canvas: Canvas) -> None:
    """Put the levers of what is selected one position back."""
    work_by_key(canvas, -1)
